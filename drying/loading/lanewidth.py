"""Least lane width for boards of one thickness, each lane as wide as its widest board: bound, and a way near it.

A linear program over lanes (lengths that fit, at the price of the widest board), its columns found by one dynamic
program over the boards in order of width: after each width the table holds the best lane no wider. Cuts say that the
boards of each width or more need a whole number of lanes as wide. The bound is Farley's, as in `packing.patterns`; it
is at least the one by length alone (`packing.bars`).
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.packing.bins import pair_bound
from drying.packing.patterns import cutting, least
from drying.packing.solver import INFINITY, Program

Kind = tuple[float, float]
"""Length and width in mm."""
Lane = tuple[int, ...]
"""Numbers of the kinds in a lane, one entry a board, ascending."""
A_ROUND = 40
CUTS = 40


@dataclass(frozen=True, slots=True)
class Part:
    kind: int
    number: int
    size: int


class LaneWidths:
    """`kinds` with `counts`, on a grid of whole `sizes` in lanes of `capacity`."""

    def __init__(
        self, kinds: Sequence[Kind], counts: Sequence[int], sizes: Sequence[int], capacity: int, cuts: int = CUTS
    ) -> None:
        order = sorted(range(len(kinds)), key=lambda index: (kinds[index][1], kinds[index][0]))
        self.kinds = [kinds[index] for index in order]
        self.counts = [counts[index] for index in order]
        self.sizes = [sizes[index] for index in order]
        self.capacity = capacity
        self.bound = 0.0
        self.cuts = self._lanes_as_wide(cuts) if cuts else {}
        lower = [*(float(one) for one in self.counts), *self.cuts.values()]
        self.program = Program(lower, [INFINITY] * len(lower))
        self.lanes: dict[tuple[Lane, float], None] = {}
        self.parts = [part for kind in range(len(order)) for part in self._halved(kind)]

    def _halved(self, kind: int) -> list[Part]:
        """The boards of a kind in groups of 1, 2, 4 ..., as the bounded knapsack wants them."""
        left, number, found = min(self.counts[kind], self.capacity // self.sizes[kind]), 1, []
        while left > 0:
            some = min(left, number)
            found.append(Part(kind, some, some * self.sizes[kind]))
            left, number = left - some, number * 2
        return found

    def _lanes_as_wide(self, most: int) -> dict[float, float]:
        """For some of the widths, the wide ones first: how many lanes of it or more there must be."""
        widths = sorted({width for _, width in self.kinds}, reverse=True)
        widths = widths[:: -(-len(widths) // most)]
        found: dict[float, float] = {}
        for least_width in widths:
            inside = [index for index, (_, width) in enumerate(self.kinds) if width >= least_width]
            counts: Counter[int] = Counter()
            for index in inside:
                counts[self.sizes[index]] += self.counts[index]
            sizes, number = list(counts), list(counts.values())
            lanes = least(cutting(sizes, number, number, self.capacity, rounds=60).bound)
            found[least_width] = float(max(lanes, pair_bound(list(counts.elements()), self.capacity)))
        return found

    def offer(self, rows: Sequence[Sequence[Kind]]) -> None:
        """Lanes to begin with."""
        number = {kind: index for index, kind in enumerate(self.kinds)}
        for row in rows:
            lane = tuple(sorted(number[kind] for kind in row))
            self._add(lane, self.kinds[lane[-1]][1])

    def _add(self, lane: Lane, width: float) -> bool:
        """A lane of this width; boards that are all narrower are allowed, since cuts may ask for it."""
        if (lane, width) in self.lanes:
            return False
        self.lanes[lane, width] = None
        rows = sorted(set(lane))
        wide = [len(self.counts) + index for index, least_width in enumerate(self.cuts) if width >= least_width]
        self.program.add(width, [*rows, *wide], [*(lane.count(row) for row in rows), *(1.0 for _ in wide)])
        return True

    def solve(self, rounds: int) -> None:
        """Adds lanes while one pays; keeps the best proven bound on the sum of lane widths."""
        needed = np.array([*self.counts, *self.cuts.values()], float)
        for _ in range(rounds):
            self.program.solve()
            duals = np.maximum(self.program.duals, 0.0)
            worst, lanes = self.paying(duals)
            self.bound = max(self.bound, float(duals @ needed) / max(1.0, worst))
            if worst <= 1 + 1e-7 or sum(self._add(*lane) for lane in lanes) == 0:
                return
        self.program.solve()

    def paying(self, duals: np.ndarray) -> tuple[float, list[tuple[Lane, float]]]:
        """By how much the best lane exceeds its width, and the lanes that do most, with their widths."""
        best = np.zeros(self.capacity + 1)
        taken = np.zeros((len(self.parts), self.capacity + 1), dtype=bool)
        ends: list[tuple[float, int]] = []
        for row, part in enumerate(self.parts):
            if duals[part.kind] > 0 and part.size <= self.capacity:
                with_it = best[: self.capacity + 1 - part.size] + duals[part.kind] * part.number
                taken[row, part.size :] = with_it > best[part.size :] + 1e-12
                best[part.size :] = np.maximum(best[part.size :], with_it)
            width = self.kinds[part.kind][1]
            if row + 1 == len(self.parts) or self.kinds[self.parts[row + 1].kind][1] > width:
                wide = sum(
                    duals[len(self.counts) + n] for n, least_width in enumerate(self.cuts) if width >= least_width
                )
                ends.append(((float(best[-1]) + float(wide)) / width, row))
        paying = sorted((one for one in ends if one[0] > 1 + 1e-7), reverse=True)
        lanes = [(self._lane(taken, row), self.kinds[self.parts[row].kind][1]) for _, row in paying[:A_ROUND]]
        return max(ends)[0], [one for one in lanes if one[0]]

    def _lane(self, taken: np.ndarray, row: int) -> Lane:
        lane: list[int] = []
        left = self.capacity
        for index in range(row, -1, -1):
            if taken[index, left]:
                lane += [self.parts[index].kind] * self.parts[index].number
                left -= self.parts[index].size
        return tuple(sorted(lane))

    def dive(self) -> list[list[Kind]]:
        """Whole lanes: those that the program uses most, as often as boards are left for them; what remains is solved
        again by the program of what is left, until nothing is."""
        left = list(self.counts)
        rows: list[list[Kind]] = []
        lanes = list(dict.fromkeys(lane for lane, _ in self.lanes))
        while any(left):
            uses = self._uses(left, lanes)
            whole = [(use, lane) for use, lane in zip(uses, lanes, strict=True) if use > 1e-6]
            fixed = [(int(use + 1e-6), lane) for use, lane in whole if use >= 1 - 1e-6]
            if not fixed:
                fixed = [(1, max(whole, key=lambda one: (round(one[0], 6), self._wood(one[1], left), one[1]))[1])]
            for number, lane in fixed:
                rows += [row for _ in range(number) if (row := self._taken(lane, left))]
        return rows

    def whole(self, start: Sequence[Sequence[Kind]], nodes: int = 60, seconds: float = 2.0) -> list[list[Kind]]:
        """Whole lanes of least width among those met, as far as the integer program gets; `start` else."""
        lanes = list(dict.fromkeys(lane for lane, _ in self.lanes))
        program = Program([float(one) for one in self.counts], [INFINITY] * len(self.counts))
        for lane in lanes:
            rows = sorted(set(lane))
            program.add(self.kinds[lane[-1]][1], rows, [lane.count(row) for row in rows], whole=True)
        number = {kind: index for index, kind in enumerate(self.kinds)}
        given = Counter(tuple(sorted(number[kind] for kind in row)) for row in start)
        program.start_from([float(given[lane]) for lane in lanes])
        if not program.solve(nodes=nodes, gap=1e-4, seconds=seconds):
            return [list(row) for row in start]
        left = list(self.counts)
        chosen = [lane for lane, use in zip(lanes, program.values, strict=True) for _ in range(round(use))]
        filled = [self._taken(lane, left) for lane in chosen]
        return [row for row in filled if row]

    def _taken(self, lane: Lane, left: list[int]) -> list[Kind]:
        """The boards of a lane that are still left, taken out."""
        row = []
        for kind in lane:
            if left[kind]:
                left[kind] -= 1
                row.append(self.kinds[kind])
        return row

    def _wood(self, lane: Lane, left: Sequence[int]) -> float:
        return sum(self.kinds[kind][0] * self.kinds[kind][1] for kind in lane if left[kind])

    def _uses(self, left: Sequence[int], lanes: Sequence[Lane]) -> list[float]:
        """How often each known lane is used for what is left."""
        program = Program([float(one) for one in left], [INFINITY] * len(left))
        for lane in lanes:
            rows = [row for row in sorted(set(lane)) if left[row]]
            width = max((self.kinds[row][1] for row in rows), default=0.0)
            program.add(width or 1.0, rows, [min(lane.count(row), left[row]) for row in rows])
        program.solve()
        return program.values
