"""What a person did last is taken back with one tap; what was built on it stands against that, and is named."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from tests.factories import BoardFactory, PlaceFactory, SpeciesFactory, StackFactory, UserFactory
from tests.yard.outbox import send
from yard.actions import figures, money, needs, readings, stacks
from yard.actions.undoing import last_undoable, undo, why_not
from yard.changes.images import columns, images, plain
from yard.models import (
    Change,
    Event,
    MillFigures,
    Need,
    NeedLine,
    Outlook,
    Price,
    Reading,
    Reservation,
    Stack,
    Stay,
    TallyLine,
)

pytestmark = pytest.mark.django_db
TABLES = (Stack, TallyLine, Stay, Need, NeedLine, NeedLine.species.through, Reservation)


def now():
    return timezone.now()


def state():
    """All that stands in the yard's tables; a tally's lines are counted anew, so by their sizes."""
    found = images(model.objects.all() for model in TABLES if model is not TallyLine)
    return found, sorted(TallyLine.objects.values_list("stack", "length_mm", "width_mm", "count"))


def last():
    return Change.objects.first()


def taken_back(change, by):
    change.refresh_from_db()
    return undo(change=change, by=by, at=now())


@pytest.fixture
def stack():
    return StackFactory(lines=[(4000, 150, 40), (3000, 120, 10)])


def test_a_row_as_plain_values_and_back_is_the_same(stack):
    found = images([Stack.objects.filter(pk=stack.pk)])["yard.stack", stack.pk]
    assert set(found) == set(columns(Stack))
    assert found["made_at"] == plain(stack.made_at)
    assert found["thickness_mm"] == stack.thickness_mm


def actions_of(stack, user):
    """Each action that can be taken back, by name: what is done."""
    to = {"by": user, "at": now()}
    return {
        "move": lambda: stacks.move(stacks=[stack], place=PlaceFactory(name="Dry loft"), **to),
        "correct": lambda: stacks.correct(stack=stack, changes={"thickness_mm": 30.0, "note": "Two wet"}, **to),
        "tally": lambda: stacks.correct(stack=stack, changes={}, lines=[(4000, 150, 38)], **to),
        "use": lambda: stacks.use(stack=stack, for_what="the stairs", **to),
        "set_aside": lambda: stacks.set_aside(stacks=[stack], for_what="the stairs", **to),
        "kiln_dried": lambda: stacks.mark_kiln_dried(stacks=[stack], on=timezone.localdate(), **to),
    }


@pytest.mark.parametrize("name", ["move", "correct", "tally", "use", "set_aside", "kiln_dried"])
def test_undone_all_stands_as_it_stood(stack, user, name):
    act = actions_of(stack, user)[name]
    before = state()
    act()
    assert state() != before
    change = last()
    taken_back(change, user)
    assert state() == before
    assert stack.events.first().kind == Event.Kind.UNDONE
    assert last().undoes == change and last().by == user


def test_a_place_of_the_past_is_taken_out_of_where_it_stood(stack, user):
    loft, stays = PlaceFactory(), stack.stays.count()
    stacks.move(stacks=[stack], place=loft, by=user, at=now())
    taken_back(last(), user)
    assert stack.stays.count() == stays
    assert not stack.stays.filter(place=loft).exists()


def test_boards_joined_go_back_with_their_tags(stack, user):
    other = StackFactory(species=stack.species, thickness_mm=stack.thickness_mm, lines=[(4000, 150, 5)])
    board = BoardFactory(stack=stack)
    before = state()
    stacks.join(stack=stack, into=other, by=user, at=now())
    board.refresh_from_db()
    assert board.stack == other
    taken_back(last(), user)
    board.refresh_from_db()
    assert board.stack == stack
    assert state() == before


def test_joined_and_moved_on_they_can_not_be_told_apart_any_more(stack, user):
    other = StackFactory(species=stack.species, thickness_mm=stack.thickness_mm)
    mate = UserFactory(username="Runa")
    stacks.join(stack=stack, into=other, by=user, at=now())
    joined = last()
    stacks.move(stacks=[other], place=PlaceFactory(), by=mate, at=now())
    with pytest.raises(ValidationError, match=r"Since then: moved, by Runa"):
        taken_back(joined, user)
    stack.refresh_from_db()
    assert stack.joined_into == other


def test_boards_split_off_are_laid_back_and_the_parts_tag_leads_to_the_stack(stack, user, signed_in):
    before = stacks.tally(stack)
    part = stacks.split(stack=stack, lines=[(4000, 150, 10)], by=user, at=now())
    taken_back(last(), user)
    assert sorted(stacks.tally(stack)) == sorted(before)
    part.refresh_from_db()
    assert part.joined_into == stack
    assert signed_in.get(f"/t/{part.code}/", follow=True).status_code == 200


@pytest.mark.parametrize("what", ["moved", "boards"])
def test_a_part_that_went_its_own_way_stays_apart(stack, user, what):
    part = stacks.split(stack=stack, lines=[(4000, 150, 10)], by=user, at=now())
    change = last()
    if what == "moved":
        stacks.move(stacks=[part], place=PlaceFactory(), by=user, at=now())
    else:
        stacks.correct(stack=part, changes={}, lines=[(4000, 150, 9)], by=user, at=now())
    with pytest.raises(ValidationError, match="since"):
        taken_back(change, user)
    part.refresh_from_db()
    assert part.joined_into is None


def test_a_reading_undone_is_voided_and_one_voided_by_mistake_counts_again(stack, user):
    reading = readings.add_reading(stack=stack, method="capacitance", raw=[20, 22], taken_at=now(), by=user)
    taken_back(last(), user)
    reading.refresh_from_db()
    assert reading.voided_at and reading.void_reason == "Undone"
    again = readings.add_reading(stack=stack, method="capacitance", raw=[20, 22], taken_at=now(), by=user)
    readings.void_reading(reading=again, reason="Wrong stack", by=user, at=now())
    taken_back(last(), user)
    again.refresh_from_db()
    assert again.voided_at is None and again.void_reason == ""
    assert list(Reading.objects.valid()) == [again]


def test_the_forecast_is_made_anew_after_an_undo(stack, user, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        stacks.correct(stack=stack, changes={"thickness_mm": 28.0}, by=user, at=now())
    first = Outlook.objects.get(stack=stack).ready_p50
    with django_capture_on_commit_callbacks(execute=True):
        stacks.correct(stack=stack, changes={"thickness_mm": 52.0}, by=user, at=now())
    assert Outlook.objects.get(stack=stack).ready_p50 != first
    with django_capture_on_commit_callbacks(execute=True):
        taken_back(last(), user)
    assert Outlook.objects.get(stack=stack).ready_p50 == first


def test_a_wet_stack_that_is_gone_teaches_again_when_its_reading_was_right(
    stack, user, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        reading = readings.add_reading(stack=stack, method="capacitance", raw=[20, 22], taken_at=now(), by=user)
    stacks.use(stack=stack, for_what="", by=user, at=now())
    readings.void_reading(reading=reading, reason="Wrong stack", by=user, at=now())
    assert Outlook.objects.get(stack=stack).reading_count == 0
    taken_back(last(), user)
    assert Outlook.objects.get(stack=stack).reading_count == 1


def test_only_who_did_it_within_a_day_and_once(stack, user):
    stacks.use(stack=stack, for_what="", by=user, at=now() - timedelta(days=40))
    change = last()
    assert "Only who did it" in why_not(change, UserFactory(), now())
    assert "more than 24 hours" in why_not(change, user, now() + timedelta(hours=25))
    assert why_not(change, user, now() + timedelta(hours=23)) == "", (
        "what a phone kept for weeks counts from its arrival"
    )
    taken_back(change, user)
    with pytest.raises(ValidationError, match="undone already"):
        taken_back(change, user)


def test_what_another_changed_since_is_named(stack, user):
    mate = UserFactory(username="Runa")
    stacks.correct(stack=stack, changes={"thickness_mm": 30.0}, by=user, at=now())
    mine = last()
    stacks.correct(stack=stack, changes={"note": "Two wet boards"}, by=mate, at=now())
    taken_back(mine, user)
    stack.refresh_from_db()
    assert stack.note == "Two wet boards", "another field is no obstacle"
    stacks.correct(stack=stack, changes={"thickness_mm": 31.0}, by=user, at=now())
    mine = last()
    stacks.correct(stack=stack, changes={"thickness_mm": 32.0}, by=mate, at=now())
    with pytest.raises(ValidationError, match="Since then: figures corrected, by Runa"):
        taken_back(mine, user)
    stack.refresh_from_db()
    assert stack.thickness_mm == 32


def test_what_was_changed_past_the_record_is_told_by_its_column(stack, user):
    stacks.correct(stack=stack, changes={"thickness_mm": 30.0}, by=user, at=now())
    Stack.objects.filter(pk=stack.pk).update(thickness_mm=33)
    with pytest.raises(ValidationError, match="Green thickness, mm"):
        taken_back(last(), user)


def wanted(user, **more):
    species = SpeciesFactory()
    need = Need(name="A table", wanted_by=timezone.localdate())
    figures = {"thickness_mm": 27, "quantity": 2, "unit": "m3"}
    return needs.make_need(need=need, species=[species], by=user, at=now(), **figures, **more)


def test_a_size_dropped_comes_back_with_its_woods_and_what_was_reserved(user, stack):
    need = wanted(user)
    line = need.lines.get()
    needs.reserve(line=line, stack=stack, volume_m3=0.4, by=user, at=now())
    before = state()
    needs.drop_line(line=line, by=user)
    assert not NeedLine.objects.exists() and not Reservation.objects.exists()
    taken_back(last(), user)
    assert state() == before


def test_a_need_that_wood_is_reserved_for_is_not_taken_away(user, stack):
    need = wanted(user)
    made = last()
    needs.reserve(line=need.lines.get(), stack=stack, volume_m3=0.4, by=UserFactory(username="Runa"), at=now())
    with pytest.raises(ValidationError, match="Since then: wood reserved, by Runa"):
        taken_back(made, user)
    Reservation.objects.all().delete()
    taken_back(made, user)
    assert not Need.objects.exists()


def test_a_needs_change_is_taken_back(user):
    need = wanted(user)
    before = state()
    need.name = "Two tables"
    needs.change_need(need=need, by=user, at=now())
    needs.change_line(
        line=need.lines.get(), species=[SpeciesFactory()], thickness_mm=33, quantity=1, unit="m3", by=user
    )
    taken_back(last(), user)
    taken_back(Change.objects.filter(kind="need_changed").get(), user)
    assert state() == before


def test_the_message_offers_it_and_the_button_does_it(signed_in, user, stack):
    was, loft = stack.place, PlaceFactory(name="Dry loft")
    page = signed_in.post(f"/stacks/{stack.code}/move/", {"place": loft.pk}, follow=True).content.decode()
    change = last()
    assert f'action="/undo/{change.pk}/"' in page
    assert f'action="/undo/{change.pk}/"' not in signed_in.get(f"/stacks/{stack.code}/").content.decode()
    answer = signed_in.post(f"/undo/{change.pk}/", follow=True)
    assert answer.redirect_chain[-1][0] == f"/stacks/{stack.code}/"
    assert "Undone: moved." in answer.content.decode()
    stack.refresh_from_db()
    assert stack.place == was
    again = signed_in.post(f"/undo/{change.pk}/", follow=True).content.decode()
    assert "It is undone already." in again


@pytest.mark.parametrize("headers", [{}, {"X-Drystack-Outbox": "live"}])
def test_under_a_key_the_offer_stands_beside_what_was_said(signed_in, stack, headers):
    given = {"Idempotency-Key": str(uuid4()), **headers}
    signed_in.post(f"/stacks/{stack.code}/move/", {"place": PlaceFactory().pk}, headers=given)
    page = signed_in.get(f"/stacks/{stack.code}/")
    assert [message.extra_tags for message in page.context["messages"]] == [f"undo-{last().pk}"], "one thing said, once"
    given = {"Idempotency-Key": str(uuid4())}
    page = signed_in.post(f"/undo/{last().pk}/", headers=given, follow=True)
    assert [message.extra_tags for message in page.context["messages"]] == [f"redo-{last().pk}"]
    assert "Do it again" in page.content.decode()


def test_a_refused_form_offers_nothing(signed_in, stack):
    answer = signed_in.post(f"/stacks/{stack.code}/move/", {"place": ""})
    assert answer.status_code == 422
    assert not Change.objects.exists()
    assert "/undo/" not in answer.content.decode()


def test_what_came_by_the_outbox_is_undone_from_the_history(signed_in, user, stack):
    loft = PlaceFactory()
    answer = send(signed_in, f"/stacks/{stack.code}/move/", {"place": loft.pk})
    assert answer.status_code == 200
    button = f'action="/undo/{last().pk}/"'
    page = signed_in.get(f"/stacks/{stack.code}/").content.decode()
    assert "Moved." in page and button in page, "the page that the phone opens next offers it"
    assert button not in signed_in.get(f"/stacks/{stack.code}/").content.decode(), "once"
    assert button in signed_in.get(f"/stacks/{stack.code}/history/").content.decode()
    signed_in.post(f"/undo/{last().pk}/")
    stack.refresh_from_db()
    assert stack.place != loft
    page = signed_in.get(f"/stacks/{stack.code}/history/").content.decode()
    assert "<b>Undone</b>" in page and f'action="/undo/{last().undoes_id}/"' not in page
    assert f'action="/undo/{last().pk}/"' in page, "it can be done again"


def test_what_the_outbox_sent_is_offered_by_no_made_up_cookie(signed_in, stack):
    for made_up in ("moved", "moved-", "moved-1x", "-", "moved-" + "9" * 30):
        signed_in.cookies["drystack_undo"] = made_up
        assert "/undo/" not in signed_in.get(f"/stacks/{stack.code}/").content.decode()


def test_a_refused_form_of_the_outbox_offers_nothing(signed_in, stack):
    assert send(signed_in, f"/stacks/{stack.code}/move/", {"place": ""}).status_code == 422
    assert "drystack_undo" not in signed_in.cookies


def test_another_is_not_offered_it_and_can_not_do_it(signed_in, user, stack):
    stacks.use(stack=stack, for_what="", by=UserFactory(), at=now())
    assert last_undoable("stack", stack.pk, user, now()) is None
    answer = signed_in.post(f"/undo/{last().pk}/", follow=True)
    assert "Only who did it can undo it" in answer.content.decode()
    stack.refresh_from_db()
    assert stack.used_at


def test_a_form_filled_in_before_an_undo_does_not_write_over_it(stack, user):
    """Whoever corrects the same field on a page from before it is told, as with any change of another's."""
    from yard.actions.merging import changed

    stacks.correct(stack=stack, changes={"thickness_mm": 30.0}, by=user, at=now())
    taken_back(last(), user)
    theirs = changed(stack.events.order_by("pk"))
    assert float(theirs["thickness_mm"].after) == 27


def test_a_history_outlives_columns_tables_and_kinds(signed_in, user):
    """What an earlier version kept is told as far as today's knows it."""
    need = wanted(user)
    old = {"of": "yard.need", "pk": need.pk, "was": {"colour": "red", "name": "A bench"}, "now": {"colour": "blue"}}
    old["now"]["name"] = "A table"
    gone = {"of": "yard.wheelbarrow", "pk": 1, "was": None, "now": {"wheels": 1}}
    change = Change.objects.create(kind="painted", at=now(), by=user, rows=[old, gone])
    change.about.create(what="need", key=need.pk)
    text = signed_in.get(f"/history/need/{need.pk}/").content.decode()
    assert "For whom or what: A bench → A table" in text
    assert "<b>Changed</b>" in text
    assert "can&#x27;t be undone" in signed_in.post(f"/undo/{change.pk}/", follow=True).content.decode()


def test_a_need_without_history_and_a_thing_that_has_none(signed_in):
    need = Need.objects.create(name="Old", wanted_by=timezone.localdate())
    assert "Nothing has been changed here" in signed_in.get(f"/history/need/{need.pk}/").content.decode()
    assert signed_in.get("/history/wheelbarrow/1/").status_code == 404
    assert signed_in.get("/history/need/0/").status_code == 404
    assert signed_in.get("/history/mill/1/").status_code == 200


def test_prices_and_the_mills_figures_come_back_and_are_told(signed_in):
    owner, wood = UserFactory(is_staff=True), SpeciesFactory(name="larch")
    rates = {"log_per_m3": 200, "sawing_per_m3": 80, "stacking_per_m3": None}
    money.keep_prices(prices={wood: (900, 300)}, rates=rates, by=owner, at=now())
    money.keep_prices(prices={wood: (950, 300)}, rates=rates, by=owner, at=now())
    figures.keep_figures(figures=MillFigures(pk=1, kerf_mm=3), by=owner, at=now())
    text = signed_in.get("/history/mill/1/").content.decode()
    assert "larch: kiln-dried, per m³: 900 → 950" in text
    assert "kerf 3\u202fmm" in text
    for _one in range(2):
        taken_back(Change.objects.filter(undoes=None, undone_by=None).first(), owner)
    assert Price.objects.get().dry_per_m3 == 900
    assert not MillFigures.objects.exists()
