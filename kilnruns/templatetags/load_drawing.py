"""{% load_of layout items kg_per_m3 on_paper as load %}: all that a load's drawings and the table beside them show."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import template

from kilnruns.templatetags.load_end import EndView, end_view
from kilnruns.templatetags.load_layers import Panel, alike, mass_kg, panels
from kilnruns.templatetags.load_order import Mark, marks_of
from kilnruns.templatetags.load_paper import Sheet, sheet_for
from kilnruns.templatetags.load_parts import Level, Piece, levels_of, under_own_codes
from kilnruns.templatetags.load_rests import Rest, rests_of
from kilnruns.templatetags.load_room import Room, rooms_of
from kilnruns.templatetags.load_samples import SampleSide, sides_of, spots_of

register = template.Library()

TWO_LIFT_KG = 25.0
"""From this mass two people lift: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table: a lane of a layer, its pieces from the door inwards."""

    level: int
    lane: int
    pieces: list[tuple[Mark, Piece]]


@dataclass(frozen=True, slots=True)
class Opening:
    """What a baffle closes: above the load ("top") or beside the layers `first` to `last`, counted from 1."""

    where: str
    width_mm: float
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Heaviest:
    """The heaviest single board or pack; `takes_two` where one person should not lift it alone."""

    kg: float
    letter: str
    length_mm: float

    @property
    def takes_two(self) -> bool:
        return self.kg >= TWO_LIFT_KG


@dataclass(frozen=True, slots=True)
class Load:
    """A drawn load; `items` pairs what the page lists (with .stack) with its mark, in the order of loading, and where
    some go in together by where they stand in the yard. `sheet` is there where it is drawn for print."""

    by_hand: bool
    items: list[tuple[Any, Mark]]
    end: EndView
    panels: list[Panel]
    rows: list[Row]
    openings: list[Opening]
    samples: list[SampleSide]
    rests: list[Rest]
    rooms: list[Room]
    levels: int
    mass_kg: float | None
    heaviest: Heaviest | None
    sheet: Sheet | None


@register.simple_tag
def load_of(
    layout: Mapping[str, Any],
    items: Iterable[Any] = (),
    kg_per_m3: Mapping[str, float] | None = None,
    on_paper: bool = False,
) -> Load:
    items = list(items)
    layout = under_own_codes(layout, items)
    levels = levels_of(layout)
    by_hand = layout["kind"] == "hand"
    marks = marks_of(levels, by_hand)
    by_code = {item.stack.code: item for item in items}
    masses = _masses(layout["kind"], levels, by_code, kg_per_m3 or {})
    spots, runs = spots_of(layout, levels, marks), alike(levels)
    sheet = sheet_for(layout["space"], len(runs), len(marks)) if on_paper else None
    return Load(
        by_hand=by_hand,
        items=_in_order(by_code, marks),
        end=end_view(layout, levels, marks, spots),
        panels=panels(layout, runs, marks, masses, spots, sheet),
        rows=[_row(level, lane, marks) for level in levels for lane in level.lanes],
        openings=[_opening(baffle) for baffle in layout.get("baffles") or ()],
        samples=sides_of(spots),
        rests=rests_of(layout, levels),
        rooms=rooms_of(layout, levels),
        levels=len(levels),
        mass_kg=_whole_kg(levels, masses, layout.get("mass_kg")),
        heaviest=_heaviest(levels, masses, marks),
        sheet=sheet,
    )


def _in_order(by_code: Mapping[str, Any], marks: Mapping[str, Mark]) -> list[tuple[Any, Mark]]:
    """As they go in; those that go in together by place, so that nobody walks the yard twice."""
    found = [(by_code[code], mark) for code, mark in marks.items() if code in by_code]
    return sorted(found, key=lambda pair: (pair[1].turn, str(getattr(pair[0].stack, "place", ""))))


def _masses(
    kind: str, levels: Iterable[Level], items: Mapping[str, Any], kg_per_m3: Mapping[str, float]
) -> dict[str, float]:
    """kg per m³ of the pieces as drawn: of wood for boards; a pack's box holds its stack's wood and much air."""
    if kind == "hand":
        return dict(kg_per_m3)
    wood = {code: items[code].volume_m3 * kg for code, kg in kg_per_m3.items() if code in items}
    boxes = {piece.stack: piece.length * piece.width * piece.height / 1e9 for one in levels for piece in one.pieces}
    return {code: wood[code] / box for code, box in boxes.items() if code in wood}


def _row(level: Level, lane: list[Piece], marks: Mapping[str, Mark]) -> Row:
    return Row(level.index + 1, lane[0].lane + 1, [(marks[piece.stack], piece) for piece in lane])


def _opening(baffle: Mapping[str, Any]) -> Opening:
    return Opening(baffle["where"], baffle["width_mm"], baffle["from_layer"] + 1, baffle["to_layer"] + 1)


def _whole_kg(levels: Iterable[Level], masses: Mapping[str, float], planned: float | None) -> float | None:
    each = [mass_kg(level, masses) for level in levels]
    known = [one for one in each if one is not None]
    return sum(known) if known and len(known) == len(each) else planned


def _heaviest(levels: Iterable[Level], masses: Mapping[str, float], marks: Mapping[str, Mark]) -> Heaviest | None:
    """Where all masses are known."""
    pieces = [piece for level in levels for piece in level.pieces]
    if not pieces or any(piece.stack not in masses for piece in pieces):
        return None
    weighed = [(piece.length * piece.width * piece.height / 1e9 * masses[piece.stack], piece) for piece in pieces]
    kg, piece = max(weighed, key=lambda pair: pair[0])
    return Heaviest(kg, marks[piece.stack].letter, piece.length)
