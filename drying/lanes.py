"""Packing lengths into bins of one capacity: boards into lanes, lanes into layers, packs into rows.

Quick rules first; where they miss the proven bound, patterns on HiGHS. Sizes are whole numbers (mm). ValueError for a
size that no bin takes. Bounds: Gilmore and Gomory 1961, from memory.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from drying.packing.bins import best_fit_decreasing, bin_by_bin, first_fit_decreasing, pair_bound
from drying.packing.patterns import Pattern, cutting, least, tight_patterns, whole_patterns
from drying.ranges import within

Bins = list[list[int]]
__all__ = ["Packing", "best_fit_decreasing", "first_fit_decreasing", "pack"]


@dataclass(frozen=True, slots=True)
class Packing:
    """`bins` hold indices into the sizes; no packing has fewer than `bound` bins; `lp_bound` before rounding up."""

    bins: tuple[tuple[int, ...], ...]
    bound: int
    lp_bound: float

    @property
    def proven(self) -> bool:
        return len(self.bins) == self.bound


def pack(sizes: Sequence[int], capacity: int, *, nodes: int = 2000, seconds: float = 10.0) -> Packing:
    """Fewest bins of `capacity` (mm) for `sizes` (mm, all above 0 and at most the capacity).

    `proven` tells whether it met the bound. Raises ValueError for a size that fits no bin, or a capacity above 10 km.
    """
    within("capacity", capacity, 1, 10_000_000, "mm")
    for size in sizes:
        if not 0 < size <= capacity:
            raise ValueError(f"size {size} does not fit a bin of {capacity}; sizes go from 1 to the capacity")
    if not sizes:
        return Packing((), 0, 0.0)
    bins = _quick(sizes, capacity)
    bound = pair_bound(sizes, capacity)
    if len(bins) == bound:
        return _packing(bins, bound, float(bound))
    kinds = sorted(Counter(sizes).items(), reverse=True)
    distinct, counts = [size for size, _ in kinds], [count for _, count in kinds]
    relaxed = cutting(distinct, counts, counts, capacity)
    bound = max(bound, least(relaxed.bound))
    if len(bins) > bound and nodes > 0:
        chosen = _by_patterns(distinct, counts, capacity, bound, relaxed.patterns, nodes, seconds)
        if chosen is not None and len(chosen) < len(bins):
            bins = _assign(sizes, distinct, chosen)
    return _packing(bins, bound, relaxed.bound)


def _packing(bins: Bins, bound: int, lp_bound: float) -> Packing:
    return Packing(tuple(tuple(one) for one in bins), bound, lp_bound)


def _quick(sizes: Sequence[int], capacity: int) -> Bins:
    """The shortest of three quick packings; the earlier wins a tie."""
    return min((rule(sizes, capacity) for rule in (bin_by_bin, first_fit_decreasing, best_fit_decreasing)), key=len)


def _by_patterns(
    sizes: list[int],
    counts: list[int],
    capacity: int,
    bound: int,
    patterns: Sequence[Pattern],
    nodes: int,
    seconds: float,
) -> list[Pattern] | None:
    slack = bound * capacity - sum(size * count for size, count in zip(sizes, counts, strict=True))
    if slack <= capacity * bound // 50:
        every = tight_patterns(sizes, counts, capacity, slack)
        patterns = every if every else patterns
    return whole_patterns(patterns, counts, enough=bound, nodes=nodes, seconds=seconds)


def _assign(sizes: Sequence[int], distinct: Sequence[int], patterns: Sequence[Pattern]) -> Bins:
    """Hands the pieces out to the patterns; a place that finds no piece left stays empty."""
    waiting: dict[int, list[int]] = {size: [] for size in distinct}
    for index in range(len(sizes) - 1, -1, -1):
        waiting[sizes[index]].append(index)
    bins: Bins = []
    for pattern in patterns:
        content = [
            waiting[size].pop()
            for size, count in zip(distinct, pattern, strict=True)
            for _ in range(min(count, len(waiting[size])))
        ]
        if content:
            bins.append(content)
    return bins
