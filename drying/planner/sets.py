"""Charges of whole stacks where there are too many of them to list: the best set of each window at given prices.

Sets are grown best-first by the most that their remainder could still bring, counted in parts (a knapsack's linear
bound); what fits together is asked of the geometry. The windows of the best chain are searched, the others keep the
bound that they have: the lower of two valid bounds holds.
"""

from bisect import bisect_right
from collections.abc import Sequence
from heapq import heappop, heappush

import numpy as np

from drying.planner.book import Batch, make_batch
from drying.planner.ceiling import PACK_WAYS, packs_taken
from drying.planner.lengths import Lengths
from drying.planner.mix import Mixed
from drying.planner.picks import Picks
from drying.planner.task import Task
from drying.planner.wholes import Fitting

NODES = 3000
"""Sets looked into in one window; then the best open one's bound has to do."""
TINY = 1e-12
Found = tuple[float, float, tuple[int, ...]]
"""Profit and stacks of the best set, and what no set exceeds."""

Node = tuple[float, int, int, float, float, tuple[int, ...]]
"""Most that it can become (negative), its number, the next stack, value and room taken so far, the stacks chosen."""


class Sets(Lengths):
    """The windows of one kiln that takes whole stacks alone."""

    def __init__(self, task: Task, offer: Picks) -> None:
        super().__init__(task, offer.kiln, offer.windows)
        self.fits = offer.fits
        self.taken = np.full((len(task.lumber), PACK_WAYS + 1), np.inf)
        for stack, ways in packs_taken(task, offer.kiln).items():
            self.taken[stack] = ways

    def _mix(self, row: int, prices: np.ndarray) -> Mixed:
        profit, bound, stacks = self._best(row, self.task.items.by_stack(prices))
        return Mixed((), stacks, profit, bound)

    def batch(self, row: int, mixed: Mixed) -> Batch | None:
        one = self.windows[row]
        made = make_batch(
            self.task, self.kiln, one.start, dict.fromkeys((int(stack) for stack in mixed.numbers), 1.0), one.stacks
        )
        return made if made and made.days <= one.days else None

    def _best(self, row: int, stack_prices: np.ndarray) -> Found:
        task, one = self.task, self.windows[row]
        start, days = np.array(one.start), np.array(one.days)
        members = np.array(one.stacks)
        need = task.need.share[self.kiln, members]
        full = float(task.full_cost(self.kiln, start, days))
        gain = task.gain(self.kiln, members, start, days) - stack_prices[members] + task.rules.empty_cost * full * need
        members, gain = members[gain > 0], gain[gain > 0]
        need = min(self.taken[members].T, key=lambda way: _in_parts(gain, way))
        order = np.lexsort((members, -gain / np.maximum(need, TINY)))
        profit, bound, chosen = searched(members[order].tolist(), gain[order], need[order], self.fits)
        fixed = (1 + task.rules.empty_cost) * full
        return profit - fixed, bound - fixed, chosen


def _in_parts(gain: np.ndarray, need: np.ndarray) -> float:
    """The most that parts of stacks can bring, counted this way."""
    order = np.argsort(-gain / np.maximum(need, TINY), kind="stable")
    room = need[order]
    before = np.cumsum(room) - room
    share = np.clip((1.0 - before) / np.maximum(room, TINY), 0.0, 1.0)
    return float(share @ gain[order])


def searched(
    stacks: list[int],
    gain: np.ndarray,
    need: np.ndarray,
    fits: Fitting,
    nodes: int = NODES,
    begun: Sequence[int] = (),
) -> Found:
    """The set of most gain that fits; stacks by falling gain over need; `begun` is a set known to fit. Whether a set
    fits is asked when its turn comes: most are never reached."""
    gains, needs = [0.0, *np.cumsum(gain).tolist()], [0.0, *np.cumsum(need).tolist()]
    each, room = gain.tolist(), need.tolist()
    density = [*(gain / np.maximum(need, TINY)).tolist(), 0.0]

    def most(index: int, value: float, used: float) -> float:
        reach = needs[index] + 1.0 - used
        last = bisect_right(needs, reach + 1e-12) - 1
        return float(value + gains[last] - gains[index] + (reach - needs[last]) * density[last])

    each_of = dict(zip(stacks, each, strict=True))
    best: tuple[float, tuple[int, ...]] = (sum(each_of[one] for one in begun), tuple(begun))
    heap: list[Node] = [(-most(0, 0.0, 0.0), 0, 0, 0.0, 0.0, ())]
    number = 0
    while heap:
        minus, _, index, value, used, chosen = heappop(heap)
        if -minus <= best[0] + 1e-9:
            break
        if number > nodes:
            return best[0], -minus, best[1]
        if chosen and chosen[-1] == stacks[index - 1] and not fits(chosen):
            continue
        if value > best[0]:
            best = value, chosen
        if index == len(stacks):
            continue
        number += 2
        taken = used + room[index]
        if taken <= 1 + 1e-9:
            gained, more = value + each[index], (*chosen, stacks[index])
            heappush(heap, (-most(index + 1, gained, taken), number, index + 1, gained, taken, more))
        heappush(heap, (-most(index + 1, value, used), number + 1, index + 1, value, used, chosen))
    return best[0], best[0], best[1]
