"""The columns of each sheet: what they are called, what they hold, an example. The app's own words about them, the
example files, the export and the import all come from here."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.exchange.cells import DayField, MomentField, RawField, TallyField
from yard.fields.numbers import NumberField, WholeField
from yard.fields.tagcode import TagCodeField
from yard.models import Importance, Method, Purpose, Unit, WoodPart


@dataclass(frozen=True, slots=True)
class Column:
    """`make` gives the field that reads a cell; None for a column that is given out only. Units end the name."""

    name: str
    about: Any
    example: str
    make: Callable[[], forms.Field] | None
    required: bool = False


def _text(most: int) -> Callable[[], forms.Field]:
    return lambda: forms.CharField(required=False, max_length=most)


def _number(least: float, most: float) -> Callable[[], forms.Field]:
    return lambda: NumberField(required=False, min_value=least, max_value=most)


def _whole(least: int, most: int) -> Callable[[], forms.Field]:
    return lambda: WholeField(required=False, min_value=least, max_value=most)


def _choice(choices: Any) -> Callable[[], forms.Field]:
    return lambda: forms.ChoiceField(
        choices=choices.choices,
        required=False,
        error_messages={"invalid_choice": _("“%(value)s” is not known; write one of: ") + ", ".join(choices.values)},
    )


def _importance() -> forms.Field:
    words = [one.name.lower() for one in Importance]
    return forms.TypedChoiceField(
        choices=[(word, word) for word in words],
        required=False,
        coerce=lambda word: Importance[word.upper()].value,
        empty_value=None,
        error_messages={"invalid_choice": _("“%(value)s” is not known; write one of: ") + ", ".join(words)},
    )


def _tag() -> forms.Field:
    return TagCodeField(required=False)


STACKS = (
    Column("tag", _("the stack's tag; empty for a new stack with a fresh tag"), "", _tag),
    Column("species", _("name or key of a species in the book"), "Norway spruce", _text(120), required=True),
    Column("place", _("name of a place where stacks stand"), "Long shed", _text(120), required=True),
    Column("thickness_mm", _("green thickness, 15 to 100"), "27", _number(15, 100), required=True),
    Column("sawn_on", _("day of sawing"), "2026-03-02", lambda: DayField(required=False), required=True),
    Column(
        "tally",
        _("length x width x boards in mm, lines apart by semicolons"),
        "4000x150x24; 3000x150x10",
        lambda: TallyField(required=False),
        required=True,
    ),
    Column("sticker_mm", _("stickers' thickness, 6 to 60; 25 for a new stack if empty"), "25", _number(6, 60)),
    Column("wood_part", "mixed, heartwood, sapwood", "mixed", _choice(WoodPart)),
    Column("initial_moisture_pct", _("moisture when stacked, if it was measured"), "62.5", _number(5, 250)),
    Column("kiln_entry_pct", _("ready for the kiln at; 20 for a new stack if empty"), "20", _number(4, 60)),
    Column("target_pct", _("moisture out of the kiln; 8 for a new stack if empty"), "8", _number(4, 30)),
    Column("pack_length_mm", _("a pack's length, if it is moved as one"), "", _whole(100, 20_000)),
    Column("pack_width_mm", _("a pack's width"), "", _whole(100, 20_000)),
    Column("pack_height_mm", _("a pack's height"), "", _whole(100, 20_000)),
    Column("value_per_m3", _("worth when dry"), "650", _number(0, 100_000)),
    Column("set_aside_for", _("what it is kept for"), "", _text(120)),
    Column("kiln_dried_on", _("day on which it came dry out of the kiln"), "", lambda: DayField(required=False)),
    Column("note", _("free text"), "north side of the log", _text(5000)),
)
BOARDS = (
    Column("tag", _("the board's tag; empty for a fresh one"), "", _tag),
    Column("stack", _("tag of the stack that it lies in"), "", _tag, required=True),
    Column("length_mm", _("length, 200 to 20000"), "3200", _whole(200, 20_000), required=True),
    Column("width_mm", _("width, 20 to 1500"), "420", _whole(20, 1500), required=True),
    Column("note", _("what is special"), "live edge", _text(200)),
)
READINGS = (
    Column("stack", _("tag of the stack"), "", _tag, required=True),
    Column("taken_at", _("day, or day and time"), "2026-05-03 14:20", lambda: MomentField(required=False), True),
    Column("method", "pins, capacitance, oven_dry, sample_board", "pins", _choice(Method), required=True),
    Column(
        "values",
        _("as read, in %, apart by semicolons; sections in g, wet/oven-dry; masses of sample boards in g"),
        "24.1; 22.6; 25",
        lambda: RawField(required=False),
        required=True,
    ),
    Column("sample_boards", _("names of the weighed sample boards, in the order of the values"), "", _text(500)),
    Column("wood_temperature_c", _("of the wood, for pins"), "12", _number(-20, 50)),
    Column("meter_set_to", _("key of the wood that the pin meter was set to, if its scale is known"), "", _text(60)),
    Column("board", _("tag of the board that was measured, if it has one"), "", _tag),
    Column("moisture_pct", _("corrected mean; given out only, passed over on the way in"), "", None),
)
NEEDS = (
    Column("need", _("for whom or what; needs are told apart by it"), "Table for the mill", _text(120), required=True),
    Column("wanted_by", _("the day by which it is wanted"), "2027-03-01", lambda: DayField(required=False), True),
    Column("use", _("what it is for: ") + ", ".join(Purpose.values), "furniture", _choice(Purpose)),
    Column("target_pct", _("moisture, 4 to 30; of a new need the use says it if empty"), "8", _number(4, 30)),
    Column("importance", _("how much it matters: low, usual, high"), "usual", _importance),
    Column("note", _("free text, the same in each row of the need"), "", _text(200)),
    Column("line", _("number of the line in its need, from 1; empty for a new line"), "", _whole(1, 1000)),
    Column("species", _("name or key of a species; two that will do apart by a semicolon; each line needs it"),
           "Norway spruce", _text(250)),
    Column("thickness_mm", _("finished thickness, 5 to 98; each line needs it"), "22", _number(5, 98)),
    Column("width_mm", _("finished width, 20 to 1500; empty for any; pieces and metres need it"), "120",
           _whole(20, 1500)),
    Column("length_mm", _("finished length, 200 to 20000; empty for any; pieces need it"), "1800", _whole(200, 20_000)),
    Column("quantity", _("how much; each line needs it"), "12", _number(0.001, 100_000)),
    Column("unit", _("what is counted; each line needs it: ") + ", ".join(Unit.values), "pieces", _choice(Unit)),
)  # fmt: skip
SHEETS: dict[str, tuple[Column, ...]] = {"stacks": STACKS, "boards": BOARDS, "readings": READINGS, "needs": NEEDS}
