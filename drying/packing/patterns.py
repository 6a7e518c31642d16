"""Cutting patterns: the proven bound on how few bins (or how little width) a set of lengths needs.

The linear program is Gilmore and Gomory's (1961), its columns found by a bounded knapsack; the bound is Farley's
(1990), valid whenever it stops. Both named from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.packing.knapsack import knapsack
from drying.packing.solver import INFINITY, Program

Pattern = tuple[int, ...]
"""How many of each size."""


@dataclass(frozen=True, slots=True)
class Cutting:
    """`bound`: proven lower bound of the linear program; `patterns` its columns with their `uses`; `prices` by size."""

    bound: float
    patterns: tuple[Pattern, ...]
    uses: tuple[float, ...]
    prices: tuple[float, ...]


def cutting(
    sizes: Sequence[int], demand: Sequence[float], copies: Sequence[int], capacity: int, *, rounds: int = 600
) -> Cutting:
    """Least use of patterns that covers `demand` of every size.

    Distinct whole-number `sizes`; a pattern holds at most `copies[i]` of each, in sum at most `capacity`.
    The bound holds for any packing that uses no size more often than its copies in one pattern.
    """
    if not sizes:
        return Cutting(0.0, (), (), ())
    if max(sizes) > capacity:
        raise ValueError(f"size {max(sizes)} is longer than the {capacity} there is; take it out first")
    program = Program(demand, [INFINITY] * len(sizes))
    patterns = [_only(index, min(copies[index], capacity // size), len(sizes)) for index, size in enumerate(sizes)]
    for pattern in patterns:
        _add(program, pattern)
    bound, prices = 0.0, np.zeros(len(sizes))
    for _ in range(rounds):
        program.solve()
        duals = np.maximum(program.duals, 0.0)
        worth, counts = knapsack(duals, sizes, copies, capacity)
        valid = float(duals @ np.asarray(demand, float)) / max(worth, 1.0)
        if valid > bound:
            bound, prices = valid, duals / max(worth, 1.0)
        if worth <= 1 + 1e-7:
            break
        patterns.append(tuple(counts))
        _add(program, patterns[-1])
    else:
        program.solve()
    return Cutting(bound, tuple(patterns), tuple(program.values), tuple(prices))


def whole_patterns(
    patterns: Sequence[Pattern], demand: Sequence[int], *, enough: int, nodes: int = 2000, seconds: float = 10.0
) -> list[Pattern] | None:
    """Fewest of the given patterns that cover the demand, one entry a use; None if none was found.

    Stops at `enough`, a number of patterns that cannot be undercut.
    """
    program = Program([*demand, enough], [INFINITY] * (len(demand) + 1))
    for pattern in patterns:
        rows = [index for index, count in enumerate(pattern) if count]
        program.add(1.0, [*rows, len(demand)], [*(pattern[row] for row in rows), 1], whole=True)
    if not program.solve(nodes=nodes, gap=0.0, seconds=seconds):
        return None
    uses = [round(value) for value in program.values]
    return [pattern for pattern, use in zip(patterns, uses, strict=True) for _ in range(use)]


def tight_patterns(
    sizes: Sequence[int], copies: Sequence[int], capacity: int, slack: int, limit: int = 150_000
) -> list[Pattern] | None:
    """Every pattern that leaves at most `slack` of the capacity; None when there are more than `limit`."""
    order = sorted(range(len(sizes)), key=lambda index: -sizes[index])
    reachable = _reachable([sizes[index] for index in order], [copies[index] for index in order], capacity)
    found: list[Pattern] = []
    counts = [0] * len(sizes)
    budget = [limit * 20]

    def grow(position: int, left: int) -> bool:
        budget[0] -= 1
        if len(found) > limit or budget[0] < 0:
            return False
        if position == len(order):
            found.append(tuple(counts))
            return True
        item = order[position]
        for count in range(min(copies[item], left // sizes[item]), -1, -1):
            rest = left - count * sizes[item]
            window = (reachable[position + 1] >> max(0, rest - slack)) & ((1 << (min(slack, rest) + 1)) - 1)
            if not window:
                continue
            counts[item] = count
            if not grow(position + 1, rest):
                return False
        counts[item] = 0
        return True

    return found if grow(0, capacity) else None


def _reachable(sizes: Sequence[int], copies: Sequence[int], capacity: int) -> list[int]:
    """Bit n of entry i: the sizes from i on can sum up to n."""
    sums = [1]
    for size, count in zip(reversed(sizes), reversed(copies), strict=True):
        bits = sums[-1]
        for _ in range(min(count, capacity // size)):
            bits |= bits << size
            bits &= (1 << (capacity + 1)) - 1
        sums.append(bits)
    return sums[::-1]


def _only(index: int, count: int, length: int) -> Pattern:
    return tuple(count if position == index else 0 for position in range(length))


def _add(program: Program, pattern: Pattern) -> None:
    rows = [index for index, count in enumerate(pattern) if count]
    program.add(1.0, rows, [pattern[row] for row in rows])


def least(value: float) -> int:
    """The whole number a bound proves: rounded up, less the error of the arithmetic."""
    return max(0, math.ceil(value - 1e-6))
