"""The charges of one kiln one after another over the horizon, in a large yard: the best chain of windows by what they
could bring, each really filled as the chain goes on.
"""

from collections.abc import Sequence

import numpy as np

from drying.planner.book import LITTLE, Batch, Book, make_batch, worth
from drying.planner.crowd import Crowd
from drying.planner.fill import Filler
from drying.planner.picking import picked
from drying.planner.task import Task
from drying.planner.wholes import Fitting

AHEAD = 4
"""Days within which the next charge begins, if any pays."""
LOOKS = 4
"""Windows really filled for each charge."""
TRIES = 40
"""Stacks in turn of which nothing more finds a place before a run counts as full."""
SLICES = 6
"""Slices of moisture tried within a wide window."""


class Campaigns:
    """Fills the kilns of a large yard; `prices` (EUR a whole stack) tell what a stack is worth elsewhere."""

    def __init__(self, task: Task, crowds: Sequence[Crowd]) -> None:
        self.task = task
        self.crowd_of = {kiln: one for one in crowds for kiln in one.kilns}
        self.fitting = {one.kiln: Fitting(task, one.kiln) for one in crowds}
        self.real: dict[int, float] = {one.kiln: 0.9 for one in crowds}

    def planned(self, book: Book, kilns: Sequence[int], prices: np.ndarray) -> None:
        """Fills these kilns, which are empty, one after another."""
        for kiln in kilns:
            for batch in self.campaign(kiln, book.left, prices):
                book.enter(batch)

    def campaign(self, kiln: int, left: np.ndarray, prices: np.ndarray) -> list[Batch]:
        """The charges of one kiln from what is left of the stacks."""
        one, left, day, found = self.crowd_of[kiln], left.copy(), 0, list[Batch]()
        ahead = one.ahead(one.profit(prices, left).profit) * self.real[one.kiln]
        while day < self.task.horizon:
            batch = self._next(one, kiln, day, left, prices, ahead)
            if batch is None:
                day += AHEAD
                continue
            found.append(batch)
            for stack, share in batch.shares:
                left[stack] = left[stack] - share if left[stack] - share > LITTLE else 0.0
            day = batch.end
        return found

    def _next(
        self, one: Crowd, kiln: int, day: int, left: np.ndarray, prices: np.ndarray, ahead: np.ndarray
    ) -> Batch | None:
        """The charge from this day on that brings most together with what may follow."""
        until = min(self.task.horizon, day + AHEAD)
        now = one.profit(prices, left, (day, until))
        reach = now.profit + ahead[one.end[now.begin : now.begin + len(now.profit)]]
        best: tuple[float, Batch] | None = None
        looked: set[tuple[int, int]] = set()
        for row in (np.argsort(-reach, kind="stable") + now.begin).tolist():
            key = (int(one.group[row]), int(one.days[row]))
            if len(looked) >= LOOKS or now.profit[row - now.begin] <= 0:
                break
            if key in looked:
                continue
            looked.add(key)
            batch = self._loaded(one, kiln, row, left, prices)
            if batch is None:
                continue
            value = worth(self.task, batch) - sum(share * float(prices[stack]) for stack, share in batch.shares)
            value += float(ahead[min(batch.end, self.task.horizon)])
            if best is None or value > best[0]:
                best = value, batch
        return best[1] if best and best[0] > ahead[until] else None

    def _loaded(self, one: Crowd, kiln: int, row: int, left: np.ndarray, prices: np.ndarray) -> Batch | None:
        """A charge of the window: the slice of moisture that could bring most, filled with whole layers or packs."""
        task, start, days = self.task, int(one.start[row]), int(one.days[row])
        stacks = one.stack[one.first[row] : one.first[row + 1]]
        stacks = stacks[left[stacks] > (LITTLE if task.kilns[kiln].divides else 1 - LITTLE)].astype(int)
        full = float(one.full_cost[row])
        need = one.need[stacks]
        gain = task.gain(kiln, stacks, np.array(start), np.array(days)) - prices[stacks]
        gain = gain + task.rules.empty_cost * full * one.own[stacks]
        inside = self._sliced(stacks, start, gain, need * left[stacks])
        stacks, gain, need = stacks[inside], gain[inside], need[inside]
        window = tuple(sorted(stacks.tolist()))
        good = gain > 0
        stacks, gain, need = stacks[good], gain[good], need[good]
        if not len(stacks):
            return None
        if task.kilns[kiln].divides:
            shares = self._filled(kiln, start, days, stacks[np.lexsort((stacks, -gain / need))], left)
        else:
            shares = dict.fromkeys(picked(self.fitting[one.kiln], stacks, gain, need), 1.0)
        return make_batch(task, kiln, start, shares, window)

    def _sliced(self, stacks: np.ndarray, start: int, gain: np.ndarray, room: np.ndarray) -> np.ndarray:
        """Which of the stacks are near enough in moisture, where they could bring most."""
        moisture, width = self.task.moisture[stacks, start], self.task.rules.moisture_window_pct
        least, most = float(moisture.min(initial=100)), float(moisture.max(initial=0))
        best, found = -1.0, np.zeros(len(stacks), dtype=bool)
        for low in np.linspace(least, max(least, most - width), SLICES if most - width > least else 1).tolist():
            inside = (moisture >= low - 1e-9) & (moisture <= low + width + 1e-9)
            order = np.argsort(-gain[inside] / np.maximum(room[inside], 1e-9), kind="stable")
            taken = np.cumsum(room[inside][order]) <= 1.0
            brings = float(np.maximum(gain[inside][order], 0.0)[taken].sum())
            if brings > best:
                best, found = brings, inside
        return found

    def _filled(self, kiln: int, start: int, days: int, order: np.ndarray, left: np.ndarray) -> dict[int, float]:
        filler, misses = Filler(self.task, kiln, start, days), 0
        for stack in order.tolist():
            before = filler.shares.get(stack, 0.0)
            filler.add(stack, float(left[stack]))
            misses = 0 if filler.shares.get(stack, 0.0) > before else misses + 1
            if misses > TRIES:
                break
        return filler.shares
