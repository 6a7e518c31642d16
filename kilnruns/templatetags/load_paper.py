"""The layers' drawings on the load sheet's one page: how many stand side by side, and words in a size that is read.

Nothing that a loader reads is smaller than 7 pt. A board too small for that is told by its hatch, and by its stack's
letter at the side of its layer: one for the lanes that hold the same stacks, or where those lie too close one for all.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Any

from kilnruns.templatetags.load_end import Text, at
from kilnruns.templatetags.load_order import Mark, letters_in
from kilnruns.templatetags.load_parts import Level, Piece
from yard.measures.told import length_in_drawing

PAGE, EDGE = 360.0, 7.0
# What a page of paper has for the panels, mm: below the end view, on A4 and Letter both.
PAPER_WIDTH_MM, PAPER_HEIGHT_MM, CAPTION_MM, GUTTER_MM = 186.0, 122.0, 6.5, 3.0
MOST_COLUMNS = 6
LISTED, LISTED_MM = 13, 4.1  # so many stacks fit beside the end view; each further one takes this height
TYPE_MM = 7.2 * 25.4 / 72
WIDE = 0.64  # of the size of bold type, a character's width at most
SIDE_LETTERS = 4.0  # characters that the side has room for


@dataclass(frozen=True, slots=True)
class Sheet:
    """`columns` panels side by side; `type_size` is the words' size and `width` a panel's, side included, both in the
    drawing's units; `scale` those units for a mm of the chamber."""

    columns: int
    type_size: float
    width: float
    scale: float

    @property
    def drawn_size(self) -> str:
        return at(self.type_size)

    @property
    def drawn_width(self) -> str:
        return at(self.width)

    def words(self, level: Level, marks: dict[str, Mark]) -> list[Text]:
        """For one layer: in the boards where there is room, at its side for the others."""
        told = {piece: self._inside(piece, marks) for piece in level.pieces}
        inside = [self._text(piece.x + piece.length / 2, piece.y + piece.width / 2, told[piece])
                  for piece in level.pieces if told[piece]]  # fmt: skip
        return inside + self._beside([lane for lane in level.lanes if not all(told[piece] for piece in lane)], marks)

    def _inside(self, piece: Piece, marks: Mapping[str, Mark]) -> str:
        letter = marks[piece.stack].letter
        if piece.width * self.scale < self.type_size:
            return ""
        whole = f"{letter} {length_in_drawing(piece.length)}"
        return next((words for words in (whole, letter) if self._goes_into(words, piece.length)), "")

    def _goes_into(self, words: str, length_mm: float) -> bool:
        return len(words) * WIDE * self.type_size < length_mm * self.scale

    def _beside(self, lanes: Sequence[list[Piece]], marks: dict[str, Mark]) -> list[Text]:
        groups = [[piece for lane in some for piece in lane]
                  for _, some in groupby(lanes, key=lambda lane: letters_in(lane, marks))]  # fmt: skip
        if not groups:
            return []
        middles = [_middle(group) for group in groups]
        close = any(after - one < self.type_size / self.scale for one, after in pairwise(middles))
        if close:
            groups = [[piece for lane in lanes for piece in lane]]
        x = (PAGE + 4) / self.scale
        return [self._text(x, _middle(group), letters_in(group, marks), beside=True) for group in groups]

    def _text(self, x_mm: float, y_mm: float, words: str, beside: bool = False) -> Text:
        return Text(at(x_mm * self.scale), at(y_mm * self.scale + EDGE + 0.35 * self.type_size), words, beside)


def _middle(pieces: Sequence[Piece]) -> float:
    return (min(piece.y for piece in pieces) + max(piece.y + piece.width for piece in pieces)) / 2


def sheet_for(space: Mapping[str, Any], panels: int, stacks: int) -> Sheet:
    """For so many panels, under a list of so many stacks."""
    columns = columns_on_paper(space, panels, stacks)
    column_mm = _column_mm(columns)
    side_mm = SIDE_LETTERS * WIDE * TYPE_MM
    units_per_mm = PAGE / (column_mm - side_mm)
    return Sheet(columns, TYPE_MM * units_per_mm, column_mm * units_per_mm, PAGE / space["length_mm"])


def _column_mm(columns: int) -> float:
    return (PAPER_WIDTH_MM - (columns - 1) * GUTTER_MM) / columns


def columns_on_paper(space: Mapping[str, Any], panels: int, stacks: int = 0) -> int:
    """How many panels stand side by side on the load sheet, so that all of them fit its page: as few as can be."""
    room = PAPER_HEIGHT_MM - max(stacks - LISTED, 0) * LISTED_MM
    for columns in range(1, MOST_COLUMNS):
        high = _column_mm(columns) * (space["width_mm"] / space["length_mm"] + 2 * EDGE / PAGE) + CAPTION_MM
        if -(-panels // columns) * high <= room:
            return columns
    return MOST_COLUMNS
