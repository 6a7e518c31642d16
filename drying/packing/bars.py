"""Proven bounds on a load of boards, whatever the arrangement of its lanes.

Think of a layer cut across its lanes at one width coordinate: the boards met there lie end to end in the chamber's
length. All such cuts together are patterns of lengths whose use is measured in mm of width, hence the linear programs.
"""

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from drying.layout import Board, Space
from drying.packing.knapsack import knapsack
from drying.packing.patterns import cutting
from drying.packing.solver import INFINITY, Program

Supply = dict[int, tuple[float, int, float]]
"""By length in whole mm (rounded down, so that bounds stay valid): total width in mm, number, longest of them in mm."""


def supply(boards: Sequence[Board]) -> Supply:
    total: Supply = defaultdict(lambda: (0.0, 0, 0.0))
    for board in boards:
        width, count, longest = total[int(board.length_mm)]
        total[int(board.length_mm)] = (width + board.width_mm, count + 1, max(longest, board.length_mm))
    return dict(sorted(total.items()))


def needed_width_mm(lengths: Supply, length_mm: float) -> float:
    """Least total lane width that any packing of these boards needs in a chamber of `length_mm`."""
    sizes = list(lengths)
    demand, copies = [lengths[size][0] for size in sizes], [lengths[size][1] for size in sizes]
    scaled, capacity = measured(sizes, int(length_mm))
    return cutting(scaled, demand, copies, capacity).bound


def measured(sizes: Sequence[int], length: int) -> tuple[list[int], int]:
    """All lengths divided by their greatest common measure: same patterns, less arithmetic."""
    measure = int(np.gcd.reduce(sizes)) if len(sizes) else 1
    return [size // measure for size in sizes], length // measure


def attainable_m3(boards: Sequence[Board], space: Space, *, rounds: int = 200) -> float:
    """Upper bound on the wood of these boards that fits into the space, proven by a linear program's duals.

    Layers count by the height they take, (thickness + sticker) for each width W of lanes. Boards longer than the
    space takes are left out.
    """
    by_thickness: dict[float, list[Board]] = defaultdict(list)
    for board in boards:
        if board.length_mm <= space.reach_mm and board.width_mm <= space.width_mm:
            by_thickness[board.thickness_mm].append(board)
    classes = [(thickness, supply(some)) for thickness, some in sorted(by_thickness.items())]
    return _Attainable(classes, space).bound(rounds) if classes else 0.0


class _Attainable:
    """The linear program: most volume, by patterns, within the height and the supply of each length."""

    def __init__(self, classes: list[tuple[float, Supply]], space: Space) -> None:
        self.classes, self.space = classes, space
        self.height = space.height_mm
        if len(classes) == 1:
            thickness = classes[0][0]
            self.height = space.layers_of(thickness) * (thickness + space.sticker_mm)
        self.widths = [width for _, lengths in classes for width, _, _ in lengths.values()]
        upper = [self.height, *self.widths]
        self.program = Program([-INFINITY] * len(upper), upper)

    def bound(self, rounds: int) -> float:
        best = float("inf")
        duals = np.zeros(len(self.widths) + 1)
        for _ in range(rounds):
            surplus = self._price(duals)
            valid = duals[0] * self.height + float(duals[1:] @ np.array(self.widths)) + surplus * self.height
            best = min(best, valid)
            if surplus <= 1e-9 * max(1.0, best):
                break
            self.program.solve()
            duals = np.maximum(-self.program.duals, 0.0)
        return best

    def _price(self, duals: np.ndarray) -> float:
        """Adds the best pattern of each thickness; returns the most by which one beats the price of its height."""
        surplus, row = 0.0, 1
        for thickness, lengths in self.classes:
            sizes = list(lengths)
            volumes = [longest * thickness * 1e-9 for _, _, longest in lengths.values()]
            worth = [volume - float(price) for volume, price in zip(volumes, duals[row:], strict=False)]
            copies = [count for _, count, _ in lengths.values()]
            scaled, capacity = measured(sizes, int(self.space.length_mm))
            value, counts = knapsack(worth, scaled, copies, capacity)
            tall = (thickness + self.space.sticker_mm) / self.space.width_mm
            if value - duals[0] * tall > 1e-12:
                surplus = max(surplus, value / tall - float(duals[0]))
                volume = sum(count * one for count, one in zip(counts, volumes, strict=True))
                rows = [0, *(row + index for index, count in enumerate(counts) if count)]
                self.program.add(-volume, rows, [tall, *(count for count in counts if count)])
            row += len(sizes)
        return surplus
