"""The bound of a large yard, window by window: those of the best chain of charges are counted anew by what bounds them
most tightly, until the chain holds no other. The lower of two valid bounds holds.

Boards by the linear program of their lanes (`mix`), whole stacks by a search through their sets (`sets`).
"""

from collections.abc import Sequence

import numpy as np

from drying.planner.crowd import Crowd
from drying.planner.mix import Mixer
from drying.planner.sets import searched
from drying.planner.stopwatch import Stopwatch
from drying.planner.wholes import Fitting

NODES = 1500
"""Sets looked into in one window; then the best open one's bound has to do."""
LOOKS = 4000
"""Windows counted anew for one kind of kilns, at most."""


class Proof:
    """Tighter bounds of single windows of kilns that are alike, at any prices; `fits` may be one that has answers."""

    def __init__(self, crowd: Crowd, fits: Fitting) -> None:
        self.crowd, self.task, self.fits = crowd, crowd.task, fits
        self.mixer = Mixer(crowd.task, crowd.kiln)

    def chain(self, prices: np.ndarray, watch: Stopwatch, until: float) -> float:
        """Most that charges beyond these prices of whole stacks bring one after another, EUR."""
        profit = self.crowd.profit(prices).profit.copy()
        heater = self.task.kilns[self.crowd.kiln].heater_kg_water_per_day
        sure: set[int] = set()
        while len(sure) < LOOKS and not heater:
            doubtful = [row for row in self.crowd.chain(profit) if row not in sure]
            if not doubtful or watch.over(until):
                break
            for row in doubtful:
                profit[row] = min(profit[row], self.window(row, prices))
            sure.update(doubtful)
        return float(self.crowd.ahead(profit)[0])

    def window(self, row: int, prices: np.ndarray) -> float:
        """What no charge of the window brings beyond the prices. Not where a weak heater may make it last longer."""
        one, task = self.crowd, self.task
        stacks = one.stack[one.first[row] : one.first[row + 1]].astype(int)
        start, days = int(one.start[row]), int(one.days[row])
        if task.kilns[one.kiln].loading == "hand":
            have = {stack: [count for *_, count in task.lumber[stack].pieces] for stack in stacks.tolist()}
            items = prices[task.items.stack] * task.items.part
            return self.mixer.mix(start, days, have, items).bound
        full = float(one.full_cost[row])
        gain = task.gain(one.kiln, stacks, np.array(start), np.array(days)) - prices[stacks]
        gain = gain + task.rules.empty_cost * full * one.own[stacks]
        need = one.need[stacks]
        order = np.lexsort((stacks, -gain / need))
        order = order[gain[order] > 0]
        most = searched(stacks[order].tolist(), gain[order], need[order], self.fits, NODES)[1]
        return most - (1 + task.rules.empty_cost) * full


def proven(proofs: Sequence[Proof], prices: np.ndarray, watch: Stopwatch, until: float) -> float:
    """What no plan can exceed: the prices paid back, and the best chain of charges of every kiln (Lagrange)."""
    return float(prices.sum()) + sum(len(one.crowd.kilns) * one.chain(prices, watch, until) for one in proofs)
