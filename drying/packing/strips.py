"""Boards ripped into strips, strips crosscut into pieces: the best pattern of a board for given prices.

Two-stage patterns after Gilmore and Gomory (1965), named from memory: a knapsack along the length for each width, and
one across the width over those. Each kerf is counted with the piece before it, and once more with the board.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from drying.packing.knapsack import knapsack

Figures = Sequence[float] | NDArray[np.float64]
Strip = tuple[int, tuple[int, ...]]
"""Width in mm, and how many of each kind along it."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What is wanted: length 0 takes a strip's whole length, width 0 as well a whole board. `most` of it are wanted."""

    length: int
    width: int
    most: float


@dataclass(frozen=True, slots=True)
class Pattern:
    """Strips of one board; `whole` is the kind that takes the board as it is."""

    board: int
    strips: tuple[Strip, ...]
    whole: int | None = None


@dataclass(slots=True)
class Pricer:
    """Kinds cut from boards [(length, width)] with a `kerf` in mm, each cut at a price in the boards' unit of cost."""

    kinds: Sequence[Kind]
    boards: Sequence[tuple[int, int]]
    kerf: int
    cut_price: float
    _along: dict[tuple[int, int], tuple[float, tuple[int, ...]]] = field(default_factory=dict)

    def best(self, prices: Figures, most: Figures) -> list[tuple[float, Pattern]]:
        """For each board the pattern of most worth, its cuts paid, and that worth (0 and no strips where none pays)."""
        self._along.clear()
        return [self._board(index, prices, most) for index in range(len(self.boards))]

    def given(self, pattern: Pattern) -> list[float]:
        """How much of each kind a pattern gives: pieces, metres, or m²."""
        length, width = self.boards[pattern.board]
        found = [0.0] * len(self.kinds)
        if pattern.whole is not None:
            found[pattern.whole] = length * width / 1e6
        for _, counts in pattern.strips:
            for kind, count in enumerate(counts):
                found[kind] += count * self._gives(kind, length)
        return found

    def cuts(self, pattern: Pattern) -> int:
        """One for each strip, one for each piece of a length."""
        pieces = sum(count for _, counts in pattern.strips for kind, count in enumerate(counts) if self._cut(kind))
        return len(pattern.strips) + pieces

    def _gives(self, kind: int, length: int) -> float:
        return 1.0 if self.kinds[kind].length else length / 1000

    def _cut(self, kind: int) -> bool:
        return bool(self.kinds[kind].length)

    def _board(self, index: int, prices: Figures, most: Figures) -> tuple[float, Pattern]:
        length, width = self.boards[index]
        widths = sorted({one.width for one in self.kinds if 0 < one.width <= width})
        strips = [self._strip(length, one, prices, most) for one in widths]
        worths = [worth - self.cut_price for worth, _ in strips]
        copies = [(width + self.kerf) // (one + self.kerf) for one in widths]
        worth, counts = knapsack(worths, [one + self.kerf for one in widths], copies, width + self.kerf)
        chosen = tuple((widths[at], strips[at][1]) for at, count in enumerate(counts) for _ in range(count))
        found = (worth, Pattern(index, chosen))
        for kind, one in enumerate(self.kinds):
            whole = prices[kind] * length * width / 1e6
            if not one.width and most[kind] > 0 and whole > found[0]:
                found = (whole, Pattern(index, (), kind))
        return found

    def _strip(self, length: int, width: int, prices: Figures, most: Figures) -> tuple[float, tuple[int, ...]]:
        """The best that a strip of a width holds along a length, the same for all boards so long."""
        if (length, width) not in self._along:
            self._along[length, width] = self._filled(length, width, prices, most)
        return self._along[length, width]

    def _filled(self, length: int, width: int, prices: Figures, most: Figures) -> tuple[float, tuple[int, ...]]:
        own = [at for at, one in enumerate(self.kinds) if one.width == width]
        cut = [at for at in own if 0 < self.kinds[at].length <= length and most[at] >= 1]
        worth, counts = knapsack(
            [prices[at] - self.cut_price for at in cut],
            [self.kinds[at].length + self.kerf for at in cut],
            [int(most[at]) for at in cut],
            length + self.kerf,
        )
        number = [0] * len(self.kinds)
        for at, count in zip(cut, counts, strict=True):
            number[at] = count
        for at in own:
            whole = prices[at] * length / 1000
            if not self.kinds[at].length and most[at] > 0 and whole > worth:
                worth, number = whole, [int(other == at) for other in range(len(self.kinds))]
        return worth, tuple(number)
