"""{% load_of layout items kg_per_m3 as load %}: all that the drawings of a load and the table beside them show."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django import template

from kilnruns.templatetags.load_end import EndView, end_view
from kilnruns.templatetags.load_layers import Panel, columns_on_paper, panels
from kilnruns.templatetags.load_parts import Level, Mark, Piece, levels_of, marks_of, sample_levels

register = template.Library()


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
class Load:
    """A drawn load; `items` pairs what the page lists (with .stack) with its mark, in the order of loading."""

    by_hand: bool
    items: list[tuple[Any, Mark]]
    end: EndView
    panels: list[Panel]
    rows: list[Row]
    openings: list[Opening]
    samples: list[int]
    columns: int
    levels: int
    heaviest_kg: float | None


@register.simple_tag
def load_of(layout: Mapping[str, Any], items: Iterable[Any] = (), kg_per_m3: Mapping[str, float] | None = None) -> Load:
    levels = levels_of(layout)
    marks = marks_of(levels)
    by_code = {item.stack.code: item for item in items}
    masses = _masses(layout["kind"], levels, by_code, kg_per_m3 or {})
    drawn = panels(layout, levels, marks, masses)
    return Load(
        by_hand=layout["kind"] == "hand",
        items=[(by_code[code], mark) for code, mark in marks.items() if code in by_code],
        end=end_view(layout, levels, marks),
        panels=drawn,
        rows=[_row(level, lane, marks) for level in levels for lane in level.lanes],
        openings=[_opening(baffle) for baffle in layout.get("baffles") or ()],
        samples=[levels[index].index + 1 for index in sample_levels(levels)],
        columns=columns_on_paper(layout["space"], len(drawn)),
        levels=len(levels),
        heaviest_kg=_heaviest_kg(levels, masses),
    )


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


def _heaviest_kg(levels: Iterable[Level], masses: Mapping[str, float]) -> float | None:
    """The heaviest single board or pack, where all masses are known."""
    pieces = [piece for level in levels for piece in level.pieces]
    if not pieces or any(piece.stack not in masses for piece in pieces):
        return None
    return max(piece.length * piece.width * piece.height / 1e9 * masses[piece.stack] for piece in pieces)
