"""The charges of one kiln one after another over the horizon, in a large yard: the best chain of windows by what they
could bring, each really filled as the chain goes on.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from drying.planner.book import LITTLE, Batch, Book, items_of, make_batch, worth
from drying.planner.crowd import Crowd
from drying.planner.mix import Mixer
from drying.planner.picking import picked
from drying.planner.pieces import Lines
from drying.planner.sets import searched
from drying.planner.task import Task
from drying.planner.wholes import Fitting

AHEAD = 4
"""Days within which the next charge begins, if any pays."""
LOOKS = 4
"""Windows really filled for each charge."""
MIXED = 24
"""Stacks offered to the mix of a charge of boards, those of most gain for their room first."""
REAL = 0.9
"""What charges bring of their window's profit, about: what may follow is counted so."""
NODES = 2500
"""Sets of whole stacks looked into for a charge."""
SLICES = 6
"""Slices of moisture tried within a wide window."""


class Campaigns:
    """Fills the kilns of a large yard; `prices` (EUR a whole stack) tell what a stack is worth elsewhere."""

    def __init__(self, task: Task, crowds: Sequence[Crowd]) -> None:
        self.task = task
        self.crowd_of = {kiln: one for one in crowds for kiln in one.kilns}
        self.fitting = {one.kiln: Fitting(task, one.kiln) for one in crowds}
        self.mixers = {one.kiln: Mixer(task, one.kiln) for one in crowds}

    def planned(self, book: Book, kilns: Sequence[int], prices: np.ndarray) -> None:
        """Fills these kilns, which are empty, one after another."""
        for kiln in kilns:
            self._campaign(book, kiln, prices)

    def _campaign(self, book: Book, kiln: int, prices: np.ndarray) -> None:
        one, day = self.crowd_of[kiln], 0
        ahead = one.ahead(one.profit(prices, book.left).profit) * REAL
        while day < self.task.horizon:
            batch = self._next(one, kiln, day, book, prices, ahead)
            if batch is None:
                day += AHEAD
                continue
            book.enter(batch)
            day = batch.end

    def _next(self, one: Crowd, kiln: int, day: int, book: Book, prices: np.ndarray, ahead: np.ndarray) -> Batch | None:
        """The charge from this day on that brings most together with what may follow."""
        until = min(self.task.horizon, day + AHEAD)
        now = one.profit(prices, book.left, (day, until))
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
            batch = self.loaded(one, kiln, row, book, prices)
            if batch is None:
                continue
            value = worth(self.task, batch) - sum(share * float(prices[stack]) for stack, share in batch.shares)
            value += float(ahead[min(batch.end, self.task.horizon)])
            if best is None or value > best[0]:
                best = value, batch
        return best[1] if best and best[0] > ahead[until] else None

    def loaded(self, one: Crowd, kiln: int, row: int, book: Book, prices: np.ndarray) -> Batch | None:
        """A charge of the window: the slice of moisture that could bring most, filled with boards or packs."""
        task, left, start, days = self.task, book.left, int(one.start[row]), int(one.days[row])
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
            few = stacks[np.lexsort((stacks, -gain / need))][:MIXED].tolist()
            return self._mixed(one, Batch(kiln, start, days, (), window), few, book, prices)
        shares = dict.fromkeys(self._picked(self.fitting[one.kiln], stacks, gain, need), 1.0)
        return make_batch(task, kiln, start, shares, window)

    def _picked(self, fits: Fitting, stacks: np.ndarray, gain: np.ndarray, need: np.ndarray) -> Sequence[int]:
        """Whole stacks that gain most together: a quick set, then what a search finds above it."""
        quick = picked(fits, stacks, gain, need)
        order = np.lexsort((stacks, -gain / need))
        return searched(stacks[order].tolist(), gain[order], need[order], fits, NODES, quick)[2]

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

    def _mixed(self, one: Crowd, empty: Batch, stacks: Sequence[int], book: Book, prices: np.ndarray) -> Batch | None:
        """The batch with the boards of these stacks that bring most together."""
        task, items = self.task, self.task.items
        have = lines_left(task, book, stacks)
        priced = prices[items.stack] * items.part
        mixer = self.mixers[one.kiln]
        counts = _whole_boards(task, mixer, empty, have, priced)
        taken: dict[int, float] = {}
        for stack, some in counts.items():
            for (length, width, _), count in zip(task.lumber[stack].pieces, some, strict=True):
                if count:
                    item = items.find(stack, int(length))
                    taken[item] = taken.get(item, 0.0) + width * count / float(items.width_mm[item])
        shares: dict[int, float] = {}
        for item, part in taken.items():
            stack = int(items.stack[item])
            shares[stack] = shares.get(stack, 0.0) + part * float(items.part[item])
        made = make_batch(task, empty.kiln, empty.start, shares, empty.window)
        return replace(made, items=tuple(sorted(taken.items()))) if made and made.days <= empty.days else None


def _whole_boards(task: Task, mixer: Mixer, empty: Batch, have: Lines, prices: np.ndarray) -> dict[int, list[int]]:
    """Boards of each tally line that bring most together beyond the prices of their items, to the nearest whole ones;
    no part of a stack under the smallest."""
    stacks = [stack for stack in have if sum(have[stack])]
    program = mixer.program(empty.start, empty.days, have, prices)
    while stacks:
        numbers = mixer.solved(program)
        counts, parts = {stack: [0] * len(have[stack]) for stack in stacks}, dict.fromkeys(stacks, 0.0)
        for one, number in zip(program.pieces, numbers, strict=True):
            if one.stack in parts:
                counts[one.stack][one.line] = int(number + 0.5)
                parts[one.stack] += one.part * counts[one.stack][one.line]
        small = [stack for stack in stacks if parts[stack] < task.rules.smallest_part]
        if not small:
            return counts
        unused = [stack for stack in small if not parts[stack]]
        out = unused or [min(small, key=lambda stack: (parts[stack], stack))]
        stacks = [stack for stack in stacks if stack not in out]
        program.leave_out(out)
    return {}


def lines_left(task: Task, book: Book, stacks: Sequence[int]) -> dict[int, list[int]]:
    """Boards of each tally line that no batch has taken, as far as shares of items tell."""
    parted = {stack for stack in stacks if book.left[stack] < 1 - LITTLE}
    taken: dict[int, float] = {}
    for batch in book.batches if parted else ():
        if any(stack in parted for stack, _ in batch.shares):
            for item, share in items_of(task, batch).items():
                taken[item] = taken.get(item, 0.0) + share
    found = {}
    for stack in stacks:
        rest = {int(task.items.length[item]): 1 - taken.get(item, 0.0) for item in task.items.of[stack]}
        found[stack] = [max(0, int(count * rest[int(length)] + 1e-6)) for length, _, count in task.lumber[stack].pieces]
    return found
