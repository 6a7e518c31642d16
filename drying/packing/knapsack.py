"""Bounded knapsack, exact, on whole-number weights."""

from collections.abc import Sequence

import numpy as np


def knapsack(
    values: Sequence[float], weights: Sequence[int], copies: Sequence[int], capacity: int
) -> tuple[float, list[int]]:
    """Most valuable choice of at most `copies[i]` of each item within `capacity`: its value, and how many of each.

    Dynamic programming over the capacity with copies split into powers of two. Items of no value are never chosen.
    """
    parts = _parts(values, weights, copies, capacity)
    best = np.zeros(capacity + 1)
    taken = np.zeros((len(parts), capacity + 1), dtype=bool)
    for row, (_, _, weight, value) in enumerate(parts):
        with_it = best[: capacity + 1 - weight] + value
        better = with_it > best[weight:] + 1e-12
        taken[row, weight:] = better
        best[weight:] = np.where(better, with_it, best[weight:])
    counts, left = [0] * len(values), capacity
    for row in range(len(parts) - 1, -1, -1):
        if taken[row, left]:
            item, number, weight, _ = parts[row]
            counts[item] += number
            left -= weight
    return float(best[capacity]), counts


def _parts(
    values: Sequence[float], weights: Sequence[int], copies: Sequence[int], capacity: int
) -> list[tuple[int, int, int, float]]:
    parts = []
    for item, (value, weight) in enumerate(zip(values, weights, strict=True)):
        if value <= 0 or weight > capacity:
            continue
        left = min(copies[item], capacity // weight) if weight > 0 else copies[item]
        size = 1
        while left > 0:
            number = min(size, left)
            parts.append((item, number, weight * number, value * number))
            left -= number
            size *= 2
    return parts
