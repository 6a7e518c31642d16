"""Weights of lengths: which share of a lane's length a board uses up, whatever lies beside it.

Where the weights of no possible lane add up to more than 1, the widths of any load of boards, each times the weight of
its length, add up to no more than the lane width it needs: a dual feasible solution of the cutting program (Gilmore and
Gomory 1961; such functions in Lueker 1983, both from memory). So one set of weights bounds from below what stacks need
together, and the largest such sum over all sets is what the linear program of the load itself proves.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from drying.packing.knapsack import knapsack
from drying.packing.patterns import cutting

FINE = 1500
"""Steps of a chamber's length; more are taken together, lengths rounded down, so that bounds stay valid."""
SAFE = 1e-9


class Lane:
    """The lengths (whole mm) that may lie in a chamber's lanes, each with the number of boards there are of it."""

    def __init__(self, lengths: Mapping[int, int], room_mm: float) -> None:
        self.lengths = sorted(lengths)
        self.copies = [min(lengths[one], int(room_mm) // one) for one in self.lengths]
        self.room_mm = int(room_mm)
        measure = int(np.gcd.reduce([*self.lengths, 0])) or 1
        if self.room_mm // measure > FINE:
            measure = -(-self.room_mm // FINE)
        self.sizes = [max(1, one // measure) for one in self.lengths]
        self.capacity = self.room_mm // measure

    def heaviest(self, weights: Sequence[float]) -> float:
        """The largest sum of weights in any lane: at most 1 where they are valid."""
        return knapsack(weights, self.sizes, self.copies, self.capacity)[0]

    def fair(self, weights: Sequence[float]) -> np.ndarray:
        """The weights, scaled down until no lane exceeds 1."""
        return np.asarray(weights, float) / max(1.0, self.heaviest(weights)) * (1 - SAFE)

    def by_area(self) -> np.ndarray:
        """Every length by itself, over the largest sum of lengths that a lane can hold."""
        most = self.heaviest([float(one) for one in self.lengths])
        return np.array(self.lengths, float) / max(most, 1.0) * (1 - SAFE)

    def by_load(self, widths_mm: Sequence[float]) -> tuple[float, np.ndarray]:
        """Lane width (mm) that a load of these widths of each length needs at least, and the weights that prove it."""
        inside = [index for index, width in enumerate(widths_mm) if width > 0]
        merged: dict[int, int] = {}
        for index in inside:
            merged.setdefault(self.sizes[index], len(merged))
        demand, copies = np.zeros(len(merged)), [0] * len(merged)
        for index in inside:
            demand[merged[self.sizes[index]]] += widths_mm[index]
            copies[merged[self.sizes[index]]] += self.copies[index]
        proven = cutting(list(merged), demand.tolist(), copies, self.capacity)
        weights = np.zeros(len(self.lengths))
        for index in inside:
            weights[index] = proven.prices[merged[self.sizes[index]]]
        return proven.bound, self.lifted(weights)

    def lifted(self, weights: Sequence[float] | np.ndarray) -> np.ndarray:
        """Valid weights, those of the lengths that have none raised as far as the others leave room, long ones first
        (sequential lifting)."""
        valid = np.asarray(weights, float) * (1 - SAFE)
        best = np.zeros(self.capacity + 1)
        for index, weight in enumerate(valid):
            if weight > 0:
                _take(best, self.sizes[index], self.copies[index], weight)
        for index in range(len(valid) - 1, -1, -1):
            if valid[index] > 0 or not self.copies[index]:
                continue
            size = self.sizes[index]
            rest = [(1 - SAFE - best[self.capacity - n * size]) / n for n in _numbers(self, index)]
            valid[index] = max(0.0, min(rest))
            if valid[index] > 0:
                _take(best, size, self.copies[index], valid[index])
        return valid


def _numbers(lane: Lane, index: int) -> range:
    return range(1, min(lane.copies[index], lane.capacity // lane.sizes[index]) + 1)


def _take(best: np.ndarray, size: int, copies: int, weight: float) -> None:
    """Lets up to `copies` boards of a size into the table of the heaviest lanes by length."""
    left, number = min(copies, (len(best) - 1) // size), 1
    while left > 0:
        some = min(number, left)
        reach = some * size
        if reach < len(best):
            np.maximum(best[reach:], best[:-reach] + some * weight, out=best[reach:])
        left, number = left - some, number * 2
