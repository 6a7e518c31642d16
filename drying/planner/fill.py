"""Filling a run with real shares: whole layers, parts neither too small nor leaving too small a rest."""

from collections.abc import Sequence

import numpy as np

from drying.planner.book import LITTLE, Batch, Book, make_batch, worth
from drying.planner.parts import Parts
from drying.planner.picks import Picks
from drying.planner.task import Task
from drying.planner.wholes import Wholes

Offer = Parts | Wholes
WIDE = 1e9


class Filler:
    """Takes stacks one by one into a run of one kiln while whole layers of them fit."""

    def __init__(self, task: Task, kiln: int, start: int, days: int) -> None:
        self.task, self.kiln, self.start = task, kiln, start
        self.shares: dict[int, float] = {}
        self.load = task.need.joint[kiln].load()
        rate = task.kilns[kiln].heater_kg_water_per_day
        self.water = rate * days if rate else WIDE

    def add(self, stack: int, left: float, wish: float = 1.0) -> None:
        """As much of the stack as is left, wished for and fits; then no part under the smallest, nor such a rest."""
        smallest = self.task.rules.smallest_part
        have = self.shares.get(stack, 0.0)
        share = min(left - have, self._room(stack), wish)
        rest = left - have - share
        if LITTLE < rest < smallest:
            share = left - have if self._room(stack) >= left - have else left - have - smallest
        if have + share < smallest - LITTLE or share <= LITTLE:
            return
        if not self.task.kilns[self.kiln].divides and share < 1 - LITTLE:
            return
        self.take(stack, share)

    def take(self, stack: int, share: float) -> None:
        """Notes the share as taken."""
        self.shares[stack] = self.shares.get(stack, 0.0) + share
        self.load.add(stack, share)
        self.water -= share * float(self.task.water[stack, self.start])

    def _room(self, stack: int) -> float:
        """Share of the stack for which there are whole layers, and heat, left."""
        room = self.load.room(stack)
        wet = float(self.task.water[stack, self.start])
        return max(0.0, min(room, self.water / wet if wet > 0 and self.water < WIDE else room))


def filled(offer: Offer, row: int, left: np.ndarray, order: Sequence[int]) -> Batch | None:
    """The run of one row with its stacks taken in the order given."""
    if isinstance(offer, Wholes):
        return offer.batch(row, offer.holds)
    if isinstance(offer, Picks):
        return offer.picked(row, order, left)
    filler = Filler(offer.task, offer.kiln, int(offer.start[row]), int(offer.days[row]))
    for stack in order:
        if left[stack] > LITTLE:
            filler.add(stack, float(left[stack]))
    return make_batch(offer.task, offer.kiln, int(offer.start[row]), filler.shares, offer.windows[row].stacks)


def refitted(task: Task, batch: Batch, left: np.ndarray) -> Batch | None:
    """A fractional batch with whole layers: its own shares first, then more of the stacks that may join."""
    if not task.kilns[batch.kiln].divides:
        return batch if all(left[stack] >= 1 - LITTLE for stack, _ in batch.shares) else None
    filler = Filler(task, batch.kiln, batch.start, batch.days)
    for stack, share in sorted(batch.shares, key=lambda one: (-one[1], one[0])):
        if left[stack] > LITTLE:
            filler.add(stack, float(left[stack]), share if share < 0.85 else 1.0)
    for stack in by_density(task, batch.kiln, batch.start, batch.days, batch.window):
        if left[stack] > LITTLE:
            filler.add(stack, float(left[stack]))
    return make_batch(task, batch.kiln, batch.start, filler.shares, batch.window)


def by_density(
    task: Task, kiln: int, start: int, days: int, stacks: Sequence[int], weights: np.ndarray | None = None
) -> list[int]:
    """Stacks by what they bring for the space they take, most first; `weights` disturb it."""
    members = np.array(stacks, dtype=int)
    gain = task.gain(kiln, members, np.array(start), np.array(days)) / task.need.share[kiln, members]
    if weights is not None:
        gain = gain * weights[members]
    return [int(stack) for stack in members[np.lexsort((members, -gain))]]


def rate(task: Task, batch: Batch) -> float:
    """EUR a kiln-day within the horizon."""
    return worth(task, batch) / min(batch.days, task.horizon - batch.start)


def extended(task: Task, book: Book) -> None:
    """Lets what is left of the stacks into batches that have room for it, where it pays."""
    for batch in book.sorted_batches():
        if not task.kilns[batch.kiln].divides:
            continue
        filler = Filler(task, batch.kiln, batch.start, batch.days)
        for stack, share in batch.shares:
            filler.take(stack, share)
        for stack in by_density(task, batch.kiln, batch.start, batch.days, batch.window):
            filler.add(stack, float(book.left[stack]) + filler.shares.get(stack, 0.0))
        wider = make_batch(task, batch.kiln, batch.start, filler.shares, batch.window)
        if wider is None or wider.shares == batch.shares:
            continue
        before = book.value
        book.strike(batch)
        if book.takes(wider):
            book.enter(wider)
            if book.value > before + 1e-9:
                continue
            book.strike(wider)
        book.enter(batch)
