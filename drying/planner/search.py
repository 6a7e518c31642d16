"""Improving a plan: strike some of its charges out, fill the gap anew, keep what is better."""

from collections.abc import Sequence

import numpy as np

from drying.planner.book import Batch, Book
from drying.planner.fill import Offer
from drying.planner.greedy import refill
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task


def improved(
    task: Task,
    offers: Sequence[Offer],
    plan: Sequence[Batch],
    watch: Stopwatch,
    rounds: int,
    until: float = 0.8,
    seed: int = 23,
) -> tuple[list[Batch], list[Batch]]:
    """The best plan after so many rounds, and the charges of all better or equal plans met on the way.

    A round clears one to three kilns over a stretch of ten days to half the horizon, and refills with disturbed
    ranking; the numbers are drawn from the seed.
    """
    chance = np.random.default_rng(seed)
    best, value = list(plan), Book(task, plan).value
    met: dict[Batch, None] = dict.fromkeys(best)
    for _ in range(rounds):
        if watch.over(until):
            break
        book = Book(task, best)
        for batch in _struck(task, best, chance):
            book.strike(batch)
        weights = chance.uniform(0.6, 1.4, len(task.lumber))
        refill(task, offers, book, watch, weights)
        met.update(dict.fromkeys(book.batches))
        if book.value > value + 1e-9:
            best, value = book.sorted_batches(), book.value
    return best, list(met)


def _struck(task: Task, plan: Sequence[Batch], chance: np.random.Generator) -> list[Batch]:
    kilns = set(chance.permutation(len(task.kilns))[: chance.integers(1, 4)].tolist())
    length = int(chance.integers(10, max(11, task.horizon // 2 + 1)))
    begin = int(chance.integers(-length // 2, max(1, task.horizon - length // 2)))
    return [one for one in plan if one.kiln in kilns and one.start < begin + length and one.end > begin]
