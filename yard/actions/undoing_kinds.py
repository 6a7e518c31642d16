"""What is changed about stacks, needs, places and species: its words, who may take it back, and how."""

from datetime import datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from yard.actions.photos import remove_photo
from yard.actions.readings import void_reading
from yard.actions.stacks import join, tally
from yard.changes import Kind, register
from yard.models import Change, Photo, Reading, Stack, keptwords
from yard.models.tagcode import shown


def register_kinds() -> None:
    register(**_STACKS, **_NEEDS, **_SETTINGS, **_PEOPLE)


def _lay_back(*, change: Change, by: Any, at: datetime) -> None:
    """The boards that were split off go back; the part's tag leads to the stack from then on."""
    change = change.original
    part = Stack.objects.select_related("split_from").get(pk__in=_made(change, "yard.stack"))
    stack = part.split_from
    if stack is None:
        raise ValidationError(_("It can't be undone: nobody can say which stack they came off."))
    held = next(row for row in change.rows if row["of"] == "yard.stack" and row["pk"] == part.pk)["now"]
    told = {"code": shown(part.code)}
    if part.place_id != held["place_id"]:
        raise ValidationError(_("It can't be undone: %(code)s was moved since. Move it back first.") % told)
    if tally(part) != _boards(change, part):
        raise ValidationError(_("It can't be undone: boards of %(code)s were changed since. Join them by hand.") % told)
    join(stack=part, into=stack, by=by, at=at)


def _boards(change: Change, part: Stack) -> list[tuple[int, int, int]]:
    lines = [row["now"] for row in change.rows if row["of"] == "yard.tallyline" and row["now"]]
    sizes = [(x["length_mm"], x["width_mm"], x["count"]) for x in lines if x["stack_id"] == part.pk]
    return sorted(sizes, key=lambda size: (-size[0], -size[1]))


def _void_readings(*, change: Change, by: Any, at: datetime) -> None:
    for reading in Reading.objects.filter(pk__in=change.original.keys_of("yard.reading")).select_related("stack"):
        void_reading(reading=reading, reason=keptwords.UNDONE, by=by, at=at)


def _remove_photo(*, change: Change, by: Any, at: datetime) -> None:
    for photo in Photo.objects.filter(pk__in=change.original.keys_of("yard.photo")).select_related("stack"):
        remove_photo(photo=photo, by=by, at=at)


def _made(change: Change, label: str) -> list[Any]:
    return [row["pk"] for row in change.rows if row["of"] == label and row["was"] is None]


_STACKS = {
    "stacked": Kind(lazy("stack made"), undone=False),
    "board_tagged": Kind(lazy("tag hung on a board"), undone=False),
    "retagged": Kind(lazy("tag replaced"), undone=False),
    "sampled": Kind(lazy("sample board made"), undone=False),
    "stack_costs_kept": Kind(lazy("costs of a stack kept"), operators=True),
    "moved": Kind(lazy("moved")),
    "corrected": Kind(lazy("figures corrected")),
    "kiln_dried": Kind(lazy("marked as kiln-dried")),
    "split": Kind(lazy("boards split off"), inverse=_lay_back, opposite="joined"),
    "joined": Kind(lazy("joined")),
    "used": Kind(lazy("used")),
    "put_back": Kind(lazy("put back into the yard")),
    "set_aside": Kind(lazy("set aside")),
    "released": Kind(lazy("released")),
    "read": Kind(lazy("reading"), inverse=_void_readings, opposite="voided"),
    "voided": Kind(lazy("reading voided")),
    "photo_added": Kind(lazy("photo added"), inverse=_remove_photo, opposite="photo_removed"),
    "photo_removed": Kind(lazy("photo removed")),
    "photo_put_back": Kind(lazy("photo put back")),
    "photo_deleted": Kind(lazy("photo deleted for good"), undone=False),
    "made_good": Kind(lazy("oven-dry masses of a sample board")),
}
_NEEDS = {
    "need_made": Kind(lazy("need made")),
    "need_changed": Kind(lazy("need changed")),
    "line_added": Kind(lazy("size added")),
    "line_changed": Kind(lazy("size changed")),
    "line_dropped": Kind(lazy("size dropped")),
    "reserved": Kind(lazy("wood reserved")),
    "let_go": Kind(lazy("reserved wood let go")),
    "promised": Kind(lazy("day promised"), operators=True),
    "met": Kind(lazy("met")),
    "reopened": Kind(lazy("wanted again")),
}
_SETTINGS = {
    "place_changed": Kind(lazy("place changed"), operators=True),
    "species_changed": Kind(lazy("species changed"), owners=True),
    "figures_changed": Kind(lazy("figures of the mill changed"), owners=True),
    "prices_kept": Kind(lazy("prices and costs kept"), owners=True),
    "weather_kept": Kind(lazy("weather kept"), operators=True),
    "weather_removed": Kind(lazy("weather taken out"), operators=True),
    "kind_forgotten": Kind(lazy("earlier kind of place taken out"), operators=True),
}
_PEOPLE = {
    "person_added": Kind(lazy("person added"), undone=False),
    "role_set": Kind(lazy("what somebody may do"), undone=False),
    "shut_out": Kind(lazy("shut out"), undone=False),
    "let_in": Kind(lazy("let in again"), undone=False),
    "password_renewed": Kind(lazy("new password made"), undone=False),
    "signed_out": Kind(lazy("sign-ins ended"), undone=False),
    "invited": Kind(lazy("invitation made"), undone=False),
    "invitation_withdrawn": Kind(lazy("invitation withdrawn"), undone=False),
    "invitation_used": Kind(lazy("invitation taken"), undone=False),
    "factor_begun": Kind(lazy("second factor set up"), undone=False),
    "codes_renewed": Kind(lazy("new recovery codes made"), undone=False),
    "factor_ended": Kind(lazy("second factor ended"), undone=False),
}
"""Never with one tap: who may do what is decided each time anew."""
