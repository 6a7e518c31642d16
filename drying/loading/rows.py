"""Boards of one thickness into lanes: end to end along the chamber, each lane as wide as its widest board."""

from collections import Counter, defaultdict
from collections.abc import Sequence

import numpy as np

from drying.lanes import pack
from drying.layout import Board
from drying.packing.knapsack import knapsack

Kind = tuple[float, float]
"""Length and width in mm."""
Row = list[Kind]

WIDTH_STEPS_MM = (15.0, 30.0, 60.0, 120.0)
CANDIDATES = 32


def greedy_rows(boards: Sequence[Board], length_mm: float) -> list[list[Row]]:
    """A few ways to lay the boards in lanes. Longer boards must be out already."""
    counts = _counted(boards)
    spread = max(width for _, width in counts) - min(width for _, width in counts)
    steps = [step for step in WIDTH_STEPS_MM if step < spread]
    return [_greedy(dict(counts), length_mm, step) for step in [*steps, 10_000.0]]


def rows_by_width(boards: Sequence[Board], length_mm: float) -> list[Row]:
    """Each width by itself, as few lanes as can be."""
    return _width_by_width(_counted(boards), length_mm)


def _counted(boards: Sequence[Board]) -> dict[Kind, int]:
    return dict(Counter((board.length_mm, board.width_mm) for board in boards))


def total_width_mm(rows: Sequence[Row]) -> float:
    return sum(max(width for _, width in row) for row in rows)


def _grid(lengths: Sequence[float], length_mm: float) -> tuple[list[int], int]:
    """Whole-number lengths: by their common measure where that is coarse enough, else rounded up to 5 mm."""
    whole = [int(np.ceil(one)) for one in lengths]
    measure = int(np.gcd.reduce(whole))
    if length_mm / measure > 1600:
        measure = 5
    return [-(-one // measure) for one in whole], int(length_mm) // measure


def _greedy(counts: dict[Kind, int], length_mm: float, step_mm: float) -> list[Row]:
    """Opens each lane with the widest board left, fills it exactly from boards at most `step_mm` narrower."""
    kinds = sorted(counts, key=lambda kind: (-kind[1], -kind[0]))
    sizes, capacity = _grid([length for length, _ in kinds], length_mm)
    left = [counts[kind] for kind in kinds]
    rows: list[Row] = []
    while any(left):
        first = next(index for index, count in enumerate(left) if count)
        left[first] -= 1
        near = [index for index in range(len(kinds)) if left[index] and kinds[index][1] >= kinds[first][1] - step_mm]
        near = near[:CANDIDATES]
        areas = [kinds[index][0] * kinds[index][1] for index in near]
        _, taken = knapsack(
            areas, [sizes[index] for index in near], [left[index] for index in near], capacity - sizes[first]
        )
        left[first] += 1
        use = {index: count for index, count in zip(near, taken, strict=True) if count}
        use[first] = use.get(first, 0) + 1
        times = min(left[index] // count for index, count in use.items())
        row = [kinds[index] for index, count in use.items() for _ in range(count)]
        rows += [list(row) for _ in range(times)]
        for index, count in use.items():
            left[index] -= count * times
    return rows


def _width_by_width(counts: dict[Kind, int], length_mm: float) -> list[Row]:
    """Each width by itself: then lanes are one-dimensional bin packing, exact."""
    rows: list[Row] = []
    for width in sorted({width for _, width in counts}, reverse=True):
        lengths = [length for (length, one), count in sorted(counts.items()) if one == width for _ in range(count)]
        sizes, capacity = _grid(lengths, length_mm)
        packing = pack(sizes, capacity, nodes=50, seconds=1.0)
        rows += [[(lengths[index], width) for index in one] for one in packing.bins]
    return rows


def tuck_in(
    layers: Sequence[list[list[Board]]], loose: Sequence[Board], length_mm: float, width_mm: float
) -> list[Board]:
    """Puts loose boards into what is open at lanes' ends and beside the lanes of these layers; returns the others."""
    still: list[Board] = []
    for board in sorted(loose, key=lambda one: (-one.volume_m3, one.stack)):
        if not any(_put(board, rows, length_mm, width_mm) for rows in layers):
            still.append(board)
    return still


def _put(board: Board, rows: list[list[Board]], length_mm: float, width_mm: float) -> bool:
    if rows[0][0].thickness_mm != board.thickness_mm:
        return False
    widths = [max(one.width_mm for one in row) for row in rows]
    for row, width in zip(rows, widths, strict=True):
        if board.width_mm <= width and sum(one.length_mm for one in row) + board.length_mm <= length_mm:
            row.append(board)
            return True
    if sum(widths) + board.width_mm <= width_mm:
        rows.append([board])
        return True
    return False


def handed_out(boards: Sequence[Board], rows: Sequence[Row]) -> list[list[Board]]:
    """Boards in the order given, so that a stack's boards lie together."""
    waiting: dict[Kind, list[Board]] = defaultdict(list)
    for board in reversed(boards):
        waiting[board.length_mm, board.width_mm].append(board)
    return [[waiting[kind].pop() for kind in sorted(row, reverse=True)] for row in rows]
