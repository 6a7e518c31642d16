"""The yard's addresses."""

from django.urls import path, re_path

from yard.views import (
    boards,
    changes,
    corrections,
    cuts,
    exchange,
    finding,
    history,
    learned,
    moves,
    needs,
    notes,
    parts,
    people,
    photos,
    places,
    readings,
    retagging,
    samples,
    scan,
    sheets,
    sort_out,
    species,
    stack,
    tagging,
    tags,
    tools,
    uses,
    weather,
    yard,
)

tagging_patterns = [
    path("scan/", scan.scan, name="scan"),
    path("tags/", sheets.tags, name="tags"),
    path("tags/sheet.pdf", sheets.tag_sheet, name="tag_sheet"),
    re_path(r"^[tT]/(?P<code>[^/]+)/?$", tags.tag, name="tag"),
    re_path(r"^[tT]/(?P<code>[^/]+)/board/$", boards.tag_board, name="tag_board"),
    re_path(r"^[tT]/(?P<code>[^/]+)/replaces/$", retagging.tag_replaces, name="tag_replaces"),
    path("stacks/new/", tagging.stack_new, name="stack_new"),
    path("stacks/preview/", tagging.stack_preview, name="stack_preview"),
    path("stacks/<str:code>/label.pdf", sheets.stack_label, name="stack_label"),
    path("stacks/<str:code>/edit/", corrections.stack_edit, name="stack_edit"),
    path("stacks/<str:code>/move/", moves.stack_move, name="stack_move"),
    path("stacks/<str:code>/split/", parts.stack_split, name="stack_split"),
    path("stacks/<str:code>/split/done/", parts.stack_split_done, name="stack_split_done"),
    path("stacks/<str:code>/join/", parts.stack_join, name="stack_join"),
    path("stacks/<str:code>/use/", uses.stack_use, name="stack_use"),
    path("stacks/<str:code>/retag/", retagging.stack_retag, name="stack_retag"),
    path("stacks/<str:code>/retag/done/", retagging.stack_retag_done, name="stack_retag_done"),
    path("stacks/<str:code>/photos/", photos.stack_photos, name="stack_photos"),
    path("stacks/<str:code>/boards/", boards.stack_boards, name="stack_boards"),
    path("boards/<str:code>/", boards.board, name="board"),
    path("boards/<str:code>/retag/", retagging.board_retag, name="board_retag"),
    path("boards/<str:code>/retag/done/", retagging.board_retag_done, name="board_retag_done"),
    path("boards/<str:code>/label.pdf", sheets.board_label, name="board_label"),
    path("photos/<int:pk>/", photos.photo, name="photo"),
    path("photos/<int:pk>/remove/", photos.photo_remove, name="photo_remove"),
    path("photos/<int:pk>/put-back/", photos.photo_put_back, name="photo_put_back"),
    path("photos/<int:pk>/delete/", photos.photo_delete, name="photo_delete"),
]

yard_patterns = [
    path("find/", finding.find, name="find"),
    path("yard/", yard.yard, name="yard"),
    path("stacks/<str:code>/", stack.stack, name="stack"),
    path("stacks/<str:code>/readings/new/", readings.reading_new, name="reading_new"),
    path("stacks/<str:code>/samples/", samples.stack_samples, name="stack_samples"),
    path("stacks/<str:code>/note/", notes.stack_note, name="stack_note"),
    path("stacks/<str:code>/history/", history.stack_history, name="stack_history"),
    path("readings/<int:pk>/void/", readings.reading_void, name="reading_void"),
    path("sort-out/", sort_out.sort_out, name="sort_out"),
    path("sort-out/<uuid:receipt>/", sort_out.sort_out_one, name="sort_out_one"),
    path("tools/", tools.tools, name="tools"),
    path("tools/drying/table/", tools.drying_table, name="drying_table"),
    path("tools/<slug:key>/", tools.tool, name="tool"),
    path("places/", places.places, name="places"),
    path("places/new/", places.place_new, name="place_new"),
    path("places/<int:pk>/", places.place, name="place"),
    path("places/<int:pk>/weather/", weather.place_weather, name="place_weather"),
    path("places/<int:pk>/weather/remove/", weather.place_weather_remove, name="place_weather_remove"),
    path("places/<int:pk>/weather.csv", weather.place_weather_sheet, name="place_weather_sheet"),
    path("places/was/<int:pk>/remove/", weather.former_kind_remove, name="former_kind_remove"),
    path("species/", species.species_list, name="species_list"),
    path("species/new/", species.species_new, name="species_new"),
    path("species/<str:key>/", species.species, name="species"),
    path("needs/", needs.needs, name="needs"),
    path("needs/new/", needs.need_new, name="need_new"),
    path("needs/<int:pk>/", needs.need, name="need"),
    path("needs/<int:pk>/met/", needs.need_met, name="need_met"),
    path("needs/<int:pk>/lines/", needs.need_line_new, name="need_line_new"),
    path("needs/<int:pk>/promise/", needs.need_promise, name="need_promise"),
    path("needs/lines/<int:pk>/", needs.need_line, name="need_line"),
    path("needs/lines/<int:pk>/cuts/", cuts.need_cuts, name="need_cuts"),
    path("needs/lines/<int:pk>/reserve/", needs.need_reserve, name="need_reserve"),
    path("needs/lines/<int:pk>/release/", needs.need_release, name="need_release"),
]

exchange_patterns = [
    path("exchange/", exchange.exchange, name="exchange"),
    path("exchange/sent/<int:pk>/", exchange.exchange_sent, name="exchange_sent"),
    path("exchange/<str:key>/", exchange.exchange_sheet, name="exchange_sheet"),
    path("exchange/<str:key>/yard/<str:name>", exchange.exchange_file, name="exchange_file"),
    path("exchange/<str:key>/example/<str:name>", exchange.exchange_example, name="exchange_example"),
]

learned_patterns = [
    path("learned/reset/", learned.learned_reset, name="learned_reset"),
    path("learned/stacks/<str:code>/", learned.learned_stack, name="learned_stack"),
    path("learned/<str:key>/<int:pk>/", learned.learned_kind, name="learned_kind"),
]

people_patterns = [
    path("people/", people.people, name="people"),
    path("people/<int:pk>/password/", people.person_password, name="person_password"),
    path("people/<int:pk>/admission/", people.person_admission, name="person_admission"),
]

changes_patterns = [
    path("history/<str:key>/<int:pk>/", changes.history, name="history"),
    path("undo/<int:pk>/", changes.undo_change, name="undo"),
]

urlpatterns = [
    *changes_patterns,
    *tagging_patterns,
    *yard_patterns,
    *learned_patterns,
    *exchange_patterns,
    *people_patterns,
]
