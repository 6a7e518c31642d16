"""Paper, and how its labels lie on it. Lengths in mm, origin at the lower left."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


class LabelError(ValueError):
    """The labels can't be made; the message is a sentence for the person who asked for them."""


class Box(NamedTuple):
    x: float
    y: float
    width: float
    height: float

    def inset(self, edge: float) -> "Box":
        return Box(self.x + edge, self.y + edge, self.width - 2 * edge, self.height - 2 * edge)


@dataclass(frozen=True, slots=True)
class Label:
    """A tag's code, and the words of what it hangs on; without words it is blank, with lines to write on."""

    code: str
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """`symbols` is 2 on a stack's label, one at each end so that one spoiled symbol loses nothing; 1 on a board's."""

    name: str | Promise
    width_mm: float
    height_mm: float
    symbols: int
    columns: int = 1
    rows: int = 1
    margin_mm: float = 0.0

    @property
    def labels(self) -> int:
        """How many labels a page holds."""
        return self.columns * self.rows

    @property
    def body(self) -> Box:
        """What lies within the margins."""
        return Box(0, 0, self.width_mm, self.height_mm).inset(self.margin_mm)

    def cells(self) -> Iterator[Box]:
        """The labels' places, row by row from the upper left."""
        x, y, width, height = self.body
        width, height = width / self.columns, height / self.rows
        for row in reversed(range(self.rows)):
            for column in range(self.columns):
                yield Box(x + column * width, y + row * height, width, height)


A4, LETTER = (210.0, 297.0), (215.9, 279.4)
# 10 mm of margin: most printers can't reach the outer 5 mm, and the cut marks stand there.
SHEETS = {
    "a4-stack": Sheet(_("A4, 8 stack tags"), *A4, 2, 2, 4, 10.0),
    "a4-stack-large": Sheet(_("A4, 2 large stack tags"), *A4, 2, 1, 2, 10.0),
    "a4-board": Sheet(_("A4, 21 board tags"), *A4, 1, 3, 7, 10.0),
    "letter-stack": Sheet(_("Letter, 8 stack tags"), *LETTER, 2, 2, 4, 10.0),
    "letter-stack-large": Sheet(_("Letter, 2 large stack tags"), *LETTER, 2, 1, 2, 10.0),
    "letter-board": Sheet(_("Letter, 21 board tags"), *LETTER, 1, 3, 7, 10.0),
}


def label_printer(width_mm: float, height_mm: float, symbols: int) -> Sheet:
    """One label a page, for a label printer. Whether the label is large enough shows when it is arranged."""
    return Sheet(_("One tag a page"), width_mm, height_mm, symbols)
