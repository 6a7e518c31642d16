"""How the yard's rows are told in histories, and whose histories there are."""

from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from yard.changes.tables import Subject, Table, register_subjects, register_tables
from yard.measures.told import sides, thick
from yard.models import Mill, Need, Place, Species, Stack
from yard.models.tagcode import shown

OF_STACKS = {"yard.stack", "yard.stay", "yard.tallyline", "yard.reading", "yard.sampleboard", "yard.board"}
"""Told by each stack's own history."""


def register_all() -> None:
    register_tables(_TABLES, OF_STACKS)
    register_subjects(_SUBJECTS)


def _line(line: Any) -> str:
    return sides(line.thickness_mm, line.width_mm, line.length_mm)


def stack_words(stack: Any) -> str:
    return f"{stack.species} {thick(stack.thickness_mm)} {shown(stack.code)}"


def _price(price: Any) -> str:
    return str(price.species)


def cubic_metres(value: Any) -> str:
    return f"{value:.3f}"


def share(value: Any) -> str:
    return f"{100 * value:.0f}\u202f%" if value is not None else "–"


def _mill(_thing: Any) -> str:
    mill = Mill.current()
    return mill.name if mill else _("The mill")


_TABLES = {
    "yard.need": Table(
        lazy("need"),
        frozenset({"promised_at"}),
        {"met_at": lazy("met"), "made_at": lazy("made")},
        {"promised_chance": share},
    ),
    "yard.needline": Table(lazy("size"), frozenset({"need_id"}), named=_line),
    "yard.needline_species": Table(lazy("wood of a size"), frozenset({"needline_id"}), {"species_id": lazy("species")}),
    "yard.reservation": Table(
        lazy("reserved"), frozenset({"line_id"}), {"stack_id": lazy("stack")}, {"volume_m3": cubic_metres}
    ),
    "yard.place": Table(lazy("place")),
    "yard.formerkind": Table(lazy("earlier kind"), frozenset({"place_id"})),
    "yard.dailyweather": Table(lazy("day of weather"), frozenset({"place_id"}), keys_only=True),
    "yard.stack": Table(lazy("stack"), named=stack_words),
    "yard.reading": Table(lazy("reading"), keys_only=True),
    "yard.outlook": Table(lazy("forecast"), remade=True),
    "yard.species": Table(lazy("species"), frozenset({"sources", "key", "is_own"})),
    "yard.mill": Table(lazy("mill")),
    "auth.user": Table(
        lazy("person"),
        frozenset({"is_superuser", "first_name", "last_name", "email", "date_joined"}),
        {"username": lazy("name"), "is_staff": lazy("owner"), "is_active": lazy("may sign in")},
        named=str,
        secret=frozenset({"password", "last_login"}),
    ),
    "yard.person": Table(
        lazy("what they do"),
        frozenset({"language", "units"}),
        {"user_id": lazy("name")},
        named=lambda one: str(one.user),
    ),
    "yard.invitation": Table(
        lazy("invitation"),
        words={
            "expires_at": lazy("open until"),
            "withdrawn_at": lazy("withdrawn"),
            "used_at": lazy("taken"),
            "used_by_id": lazy("taken by"),
        },
        named=lambda one: str(one.get_role_display()),
        secret=frozenset({"token_hash"}),
    ),
    "yard.price": Table(lazy("price"), words={"species_id": lazy("species")}, named=_price),
    "yard.costrates": Table(lazy("the mill's costs")),
    "yard.millfigures": Table(
        lazy("figures of the mill"),
        words={
            "log_yield": lazy("sawn wood of a log"),
            "cut_yield": lazy("finished wood of green boards"),
            "planing_mm": lazy("planed off each face, mm"),
            "trim_mm": lazy("trimmed off a board, mm"),
            "kerf_mm": lazy("kerf, mm"),
            "log_diameter_mm": lazy("usual log, diameter, mm"),
            "log_length_m": lazy("usual log, length, m"),
            "sawn": lazy("how the rings run"),
        },
        shown={"log_yield": share, "cut_yield": share},
    ),
}
_SUBJECTS = {
    "stack": Subject(Stack, lambda one: shown(one.code), lambda one: reverse("stack", args=[one.code]), "yard"),
    "need": Subject(Need, str, lambda one: reverse("need", args=[one.pk]), "needs"),
    "place": Subject(Place, str, lambda one: reverse("place", args=[one.pk]), "places"),
    "species": Subject(Species, str, lambda one: reverse("species", args=[one.key]), "species_list"),
    "mill": Subject(None, _mill, lambda _none: reverse("setup"), "setup"),
}
