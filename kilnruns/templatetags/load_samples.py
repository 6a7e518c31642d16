"""Where sample boards go, as the plan chose; for a layout kept before plans chose, low and high on both sides."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kilnruns.templatetags.load_order import Mark
from kilnruns.templatetags.load_parts import Level, Piece

SET_BACK_MM = 150
"""What begins further in than this is not at the door."""


@dataclass(frozen=True, slots=True)
class Spot:
    """One sample board: in the place of `piece`, at the left or the right seen from the door. `level` counts from 1."""

    piece: Piece
    level: int
    letter: str
    is_left: bool

    @property
    def inset_mm(self) -> float:
        """How far from the door it begins; 0 where it lies at the door."""
        return self.piece.x if self.piece.x > SET_BACK_MM else 0.0


@dataclass(frozen=True, slots=True)
class SampleSide:
    """The spots of one side ("left", "right"), or of "both" where the two are alike."""

    side: str
    spots: list[Spot]


def spots_of(layout: Mapping[str, Any], levels: Sequence[Level], marks: Mapping[str, Mark]) -> list[Spot]:
    planned = [_planned(row, levels) for row in layout.get("samples") or ()]
    found = [(piece, is_left) for piece, is_left in planned if piece] or _usual(levels)
    return [Spot(piece, piece.level + 1, marks[piece.stack].letter, is_left) for piece, is_left in found if piece]


def _planned(row: Mapping[str, Any], levels: Sequence[Level]) -> tuple[Piece | None, bool]:
    """By where it lies: the part of a stack that was split off for the charge goes by another code."""
    pieces = [piece for level in levels if level.index == row["layer"] for piece in level.pieces]
    same = [piece for piece in pieces if piece.lane == row["lane"] and abs(piece.x - row["x_mm"]) < 1]
    return (same[0] if same else None), row["side"] == "enters"


def _usual(levels: Sequence[Level]) -> list[tuple[Piece | None, bool]]:
    """A quarter up and a quarter down, never in the same layer unless there is but one. Common practice, no source."""
    quarter = len(levels) // 4
    chosen = sorted({quarter, len(levels) - 1 - quarter}) if levels else []
    return [(levels[index].lanes[lane][0], lane == 0) for index in chosen for lane in (0, -1)]


def sides_of(spots: Sequence[Spot]) -> list[SampleSide]:
    left, right = ([spot for spot in spots if spot.is_left is is_left] for is_left in (True, False))
    if [_told(spot) for spot in left] == [_told(spot) for spot in right]:
        return [SampleSide("both", left)] if left else []
    return [SampleSide(side, some) for side, some in (("left", left), ("right", right)) if some]


def _told(spot: Spot) -> tuple[int, str, float]:
    return spot.level, spot.letter, spot.inset_mm
