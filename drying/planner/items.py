"""Boards of one length of one stack: what the selection prices, since long and short ones fill lanes in turn."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drying.offers import Lumber

Fractions = Mapping[int, float]
"""By item: how much of it, 0 to 1."""


@dataclass(frozen=True, slots=True, eq=False)
class Items:
    """`stack`, whole mm of `length`, `width_mm` in sum, and `part` of the stack's volume, an entry an item; `of` has
    the items of each stack. A stack without boards is one item."""

    stack: np.ndarray
    length: np.ndarray
    width_mm: np.ndarray
    part: np.ndarray
    of: tuple[tuple[int, ...], ...]

    @classmethod
    def among(cls, lumber: Sequence[Lumber]) -> "Items":
        rows: list[tuple[int, int, float, float]] = []
        of: list[tuple[int, ...]] = []
        for stack, one in enumerate(lumber):
            widths: dict[int, float] = {}
            for length, width, count in one.pieces:
                widths[int(length)] = widths.get(int(length), 0.0) + width * count
            area = sum(length * width for length, width in widths.items())
            own = [(stack, length, width, length * width / area) for length, width in sorted(widths.items()) if width]
            own = own or [(stack, 0, 0.0, 1.0)]
            of.append(tuple(range(len(rows), len(rows) + len(own))))
            rows += own
        stacks, lengths, widths_mm, parts = (np.array(column) for column in zip(*rows, strict=True)) if rows else (
            np.zeros(0, int), np.zeros(0, int), np.zeros(0), np.zeros(0),
        )  # fmt: skip
        return cls(stacks.astype(int), lengths.astype(int), widths_mm.astype(float), parts.astype(float), tuple(of))

    def by_stack(self, prices: np.ndarray) -> np.ndarray:
        """The price of a whole stack, from those of its items."""
        summed: np.ndarray = np.bincount(self.stack, prices, minlength=len(self.of))
        return summed

    def alike(self, shares: Sequence[tuple[int, float]]) -> dict[int, float]:
        """Shares of stacks as the same share of each of their items."""
        return {item: share for stack, share in shares for item in self.of[stack]}

    def find(self, stack: int, length: int) -> int:
        return next(item for item in self.of[stack] if self.length[item] == length)
