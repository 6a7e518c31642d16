"""Charges while the plan is being made: shares of stacks in a run, and the book of what is taken and when."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drying.planner.task import Task

Shares = Mapping[int, float]
LITTLE = 1e-7


@dataclass(frozen=True, slots=True)
class Batch:
    """A run of `kiln` from `start` for `days`; `shares` by stack number; `window` the stacks that may join it.

    `items`: how much of each item (boards of one length of a stack) it takes, where that is chosen; else all alike.
    """

    kiln: int
    start: int
    days: int
    shares: tuple[tuple[int, float], ...]
    window: tuple[int, ...]
    items: tuple[tuple[int, float], ...] = ()

    @property
    def end(self) -> int:
        return self.start + self.days


def taken(task: Task, kiln: int, shares: Iterable[tuple[int, float]]) -> float:
    """Share of the kiln that a load takes, counted by each stack's own need."""
    return sum(share * float(task.need.share[kiln, stack]) for stack, share in shares)


def items_of(task: Task, batch: Batch) -> dict[int, float]:
    """How much it takes of each item."""
    return dict(batch.items) or task.items.alike(batch.shares)


def worth(task: Task, batch: Batch) -> float:
    """EUR a batch brings less its kiln's cost."""
    if batch not in task.worths:
        task.worths[batch] = _counted(task, batch)
    return task.worths[batch]


def _counted(task: Task, batch: Batch) -> float:
    stacks = np.array([stack for stack, _ in batch.shares])
    part = np.array([share for _, share in batch.shares])
    gains = task.gain(batch.kiln, stacks, np.array(batch.start), np.array(batch.days))
    used = taken(task, batch.kiln, batch.shares)
    return float(gains @ part) - task.cost(batch.kiln, batch.start, batch.days, used)


def total(task: Task, batches: Sequence[Batch]) -> float:
    """EUR of a plan: what its batches are worth, less what splitting stacks costs."""
    parts: dict[int, int] = {}
    for batch in batches:
        for stack, _ in batch.shares:
            parts[stack] = parts.get(stack, 0) + 1
    return sum(worth(task, one) for one in batches) - task.rules.split_cost * sum(n - 1 for n in parts.values())


def make_batch(task: Task, kiln: int, start: int, shares: Shares, window: Sequence[int]) -> Batch | None:
    """The batch of these shares, if it is full enough and the kiln stays free for as long as it takes."""
    kept = tuple(sorted((stack, share) for stack, share in shares.items() if share > LITTLE))
    if not kept:
        return None
    ordered = any(task.order[stack] > 0 for stack, _ in kept)
    if not ordered and taken(task, kiln, kept) < task.rules.smallest_fill - LITTLE:
        return None
    days = task.run_days(kiln, start, dict(kept))
    if start + days > task.free_until[kiln, start]:
        return None
    return Batch(kiln, start, days, kept, tuple(window))


class Book:
    """What is left of each stack and which days each kiln is taken, as batches are entered and struck out."""

    def __init__(self, task: Task, batches: Sequence[Batch] = ()) -> None:
        self.task = task
        self.left = np.ones(len(task.lumber))
        self.busy = np.zeros((len(task.kilns), task.horizon), dtype=bool)
        self.batches: list[Batch] = []
        for batch in batches:
            self.enter(batch)

    def free(self, kiln: int, start: int, days: int) -> bool:
        return not self.busy[kiln, start : start + days].any()

    def takes(self, batch: Batch) -> bool:
        """Whether the kiln is free and the stacks are there."""
        if not self.free(batch.kiln, batch.start, batch.days):
            return False
        return all(share <= self.left[stack] + LITTLE for stack, share in batch.shares)

    def enter(self, batch: Batch) -> None:
        self.batches.append(batch)
        self.busy[batch.kiln, batch.start : batch.end] = True
        for stack, share in batch.shares:
            rest = self.left[stack] - share
            self.left[stack] = rest if rest > LITTLE else 0.0

    def strike(self, batch: Batch) -> None:
        self.batches.remove(batch)
        self.busy[batch.kiln, batch.start : batch.end] = False
        for stack, share in batch.shares:
            self.left[stack] = min(1.0, self.left[stack] + share)

    @property
    def value(self) -> float:
        return total(self.task, self.batches)

    def sorted_batches(self) -> list[Batch]:
        return sorted(self.batches, key=lambda one: (one.start, one.kiln))
