"""Narrower lanes by taking some apart and forming them anew: a few lanes at a time, each time as well as can be."""

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from drying.loading.lanewidth import CUTS, LaneWidths
from drying.loading.rows import Row, total_width_mm
from drying.packing.bars import measured

LANES = 20
"""Taken apart at a time."""


def program_of(rows: Sequence[Row], length_mm: float, cuts: int = CUTS) -> LaneWidths:
    """The linear program of the boards that lie in these lanes, which it begins with."""
    counts = Counter(kind for row in rows for kind in row)
    kinds = sorted(counts)
    sizes, capacity = measured([int(-(-length // 1)) for length, _ in kinds], int(length_mm))
    program = LaneWidths(kinds, [counts[kind] for kind in kinds], sizes, capacity, cuts)
    program.offer(rows)
    return program


def narrowed(rows: Sequence[Row], length_mm: float, rounds: int) -> Iterator[list[Row]]:
    """Ever narrower sets of lanes; the lanes of a round are neighbours in width or drawn from all, by a fixed seed."""
    chance = np.random.default_rng(5)
    best = [list(row) for row in rows]
    for _ in range(rounds):
        best.sort(key=lambda row: (max(width for _, width in row), row))
        some = _some(chance, len(best))
        apart = [best[index] for index in some]
        program = program_of(apart, length_mm, cuts=0)
        program.solve(30)
        if program.bound > total_width_mm(apart) - 0.5:
            continue
        other = min(program.dive(), program.whole(apart, nodes=20, seconds=0.5), key=total_width_mm)
        if total_width_mm(other) < total_width_mm(apart) - 1e-6:
            inside = set(some)
            best = [row for index, row in enumerate(best) if index not in inside] + other
            yield best


def _some(chance: np.random.Generator, number: int) -> list[int]:
    size = min(LANES, number)
    if chance.random() < 0.5:
        first = int(chance.integers(0, number - size + 1))
        return list(range(first, first + size))
    return sorted(chance.permutation(number)[:size].tolist())
