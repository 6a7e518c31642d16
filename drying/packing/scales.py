"""Scales of size in which whatever fits a room still fits it: dual feasible functions, for bounds on what packs take.

A function u of sizes (share of the room) such that sizes that add up to at most 1 still do so after it; products of
such scales along length, width and height bound any arrangement of boxes that are not turned. u(k) as named by Fekete
and Schepers (2001), from memory: below a multiple of 1/(k+1) a size is worth only whole k-ths.
"""

from collections.abc import Sequence
from itertools import product

import numpy as np

STEPS = (1, 2, 3, 4)


def scales(sizes: np.ndarray, reach: float, room: float) -> list[np.ndarray]:
    """Sizes (above 0, mm) in a room as shares of it by several scales; plainly by `reach`, the largest sum of sizes
    that the room takes."""
    share = sizes / room
    return [sizes / reach, *(_in_steps(share, k) for k in STEPS)]


def _in_steps(share: np.ndarray, k: int) -> np.ndarray:
    times = (k + 1) * share
    whole = np.abs(times - np.round(times)) < 1e-9
    worth: np.ndarray = np.where(whole, share, np.floor(times + 1e-9) / k)
    return worth


def taken_by(sides: Sequence[Sequence[np.ndarray]], most: int) -> list[np.ndarray]:
    """Shares of the room that boxes take, by those combinations of a scale a side that count most, none of them below
    another one for every box."""
    kept: list[np.ndarray] = []
    found = [np.prod(np.stack(some), axis=0) for some in product(*sides)]
    for one in sorted(found, key=lambda one: -float(one.sum())):
        if len(kept) < most and not any((one <= other + 1e-12).all() for other in kept):
            kept.append(one)
    return kept
