"""Boards that are still to be had while charges are laid out, one after another."""

from collections.abc import Mapping, Sequence

import numpy as np

from drying.planner.book import LITTLE
from drying.planner.task import Task

Counts = Mapping[int, tuple[int, ...]]
"""By stack: boards of each tally line."""


class Stock:
    """Boards of each stack that no charge has taken yet."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.left = [np.array([count for *_, count in one.pieces], dtype=int) for one in task.lumber]
        self._area = [np.array([length * width for length, width, _ in one.pieces]) for one in task.lumber]
        self._whole = [float(area @ left) for area, left in zip(self._area, self.left, strict=True)]

    def share(self, stack: int, counts: Sequence[int]) -> float:
        """Part of the stack's volume in these boards."""
        return float(self._area[stack] @ np.array(counts)) / self._whole[stack] if self._whole[stack] else 0.0

    def left_share(self, stack: int) -> float:
        return self.share(stack, self.left[stack].tolist())

    def untouched(self, stack: int) -> bool:
        return bool(self.left[stack].sum() == sum(count for *_, count in self.task.lumber[stack].pieces))

    def pick(self, stack: int, share: float) -> tuple[int, ...]:
        """Whole boards of about this share, all tally lines alike; everything if hardly more is left."""
        have = self.left_share(stack)
        if share >= have - LITTLE:
            return tuple(self.left[stack].tolist())
        exact = self.left[stack] * (share / have)
        counts = np.floor(exact + 1e-9).astype(int)
        order = np.lexsort((np.arange(len(exact)), counts - exact))
        for line in order:
            wider = counts.copy()
            wider[line] += 1
            if wider[line] <= self.left[stack][line] and self.share(stack, wider.tolist()) <= share + LITTLE:
                counts = wider
        return tuple(counts.tolist())

    def take(self, counts: Counts) -> None:
        for stack, some in counts.items():
            self.left[stack] = self.left[stack] - np.array(some)

    def give_back(self, counts: Counts) -> None:
        for stack, some in counts.items():
            self.left[stack] = self.left[stack] + np.array(some)
