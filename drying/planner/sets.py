"""Charges of whole stacks where there are too many of them to list: the best set of each window at given prices.

Sets are grown best-first by the most that their remainder could still bring, counted in parts (a knapsack's linear
bound); what fits together is asked of the geometry. The windows of the best chain are searched, the others keep the
bound that they have: the lower of two valid bounds holds.
"""

from heapq import heappop, heappush

import numpy as np

from drying.planner.book import Batch, make_batch
from drying.planner.lengths import Lengths
from drying.planner.mix import Mixed
from drying.planner.picks import Picks
from drying.planner.task import Task
from drying.planner.wholes import Fitting

NODES = 3000
"""Sets looked into in one window; then the best open one's bound has to do."""
Found = tuple[float, float, tuple[int, ...]]
"""Profit and stacks of the best set, and what no set exceeds."""

Node = tuple[float, int, int, float, float, tuple[int, ...]]
"""Least that is lost (negative), its number, the next stack, value and room taken so far, the stacks chosen."""


class Sets(Lengths):
    """The windows of one kiln that takes whole stacks alone."""

    def __init__(self, task: Task, offer: Picks) -> None:
        super().__init__(task, offer.kiln, offer.windows)
        self.fits = offer.fits
        self._chosen: tuple[int, ...] = ()

    def mix(self, row: int, prices: np.ndarray) -> Mixed:
        profit, bound, stacks = self._best(row, self.task.items.by_stack(prices))
        self._chosen = stacks
        return Mixed((), (), profit, bound)

    def batch(self, row: int, mixed: Mixed) -> Batch | None:
        one = self.windows[row]
        made = make_batch(self.task, self.kiln, one.start, dict.fromkeys(self._chosen, 1.0), one.stacks)
        return made if made and made.days <= one.days else None

    def _best(self, row: int, stack_prices: np.ndarray) -> Found:
        task, one = self.task, self.windows[row]
        start, days = np.array(one.start), np.array(one.days)
        members = np.array(one.stacks)
        need = task.need.share[self.kiln, members]
        full = float(task.full_cost(self.kiln, start, days))
        gain = task.gain(self.kiln, members, start, days) - stack_prices[members] + task.rules.empty_cost * full * need
        order = np.lexsort((members, -gain / need))
        order = order[gain[order] > 0]
        profit, bound, chosen = searched(members[order].tolist(), gain[order], need[order], self.fits)
        fixed = (1 + task.rules.empty_cost) * full
        return profit - fixed, bound - fixed, chosen


def searched(stacks: list[int], gain: np.ndarray, need: np.ndarray, fits: Fitting, nodes: int = NODES) -> Found:
    """The set of most gain that fits; stacks by falling gain over need."""
    gains, needs = [0.0, *np.cumsum(gain).tolist()], np.concatenate([[0.0], np.cumsum(need)])
    density = [*(gain / need).tolist(), 0.0]

    def most(index: int, value: float, used: float) -> float:
        reach = needs[index] + 1.0 - used
        last = int(np.searchsorted(needs, reach + 1e-12, side="right")) - 1
        return value + gains[last] - gains[index] + (reach - float(needs[last])) * density[last]

    best: tuple[float, tuple[int, ...]] = (0.0, ())
    heap: list[Node] = [(-most(0, 0.0, 0.0), 0, 0, 0.0, 0.0, ())]
    number = 0
    while heap:
        minus, _, index, value, used, chosen = heappop(heap)
        if -minus <= best[0] + 1e-9:
            break
        if number > nodes:
            return best[0], -minus, best[1]
        if index == len(stacks):
            continue
        more = (*chosen, stacks[index])
        number += 2
        room = used + float(need[index]) <= 1 + 1e-9
        if room and fits(more):
            gained, taken = value + float(gain[index]), used + float(need[index])
            if gained > best[0]:
                best = gained, more
            heappush(heap, (-most(index + 1, gained, taken), number, index + 1, gained, taken, more))
        heappush(heap, (-most(index + 1, value, used), number + 1, index + 1, value, used, chosen))
    return best[0], best[0], best[1]
