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

NODES = 12_000
"""Sets looked into in one window; then the best open one's bound has to do."""
LOOKS = 4000
"""Windows counted anew for one kind of kilns, at most."""
BLOCK = 5
"""Days in which windows of one group and length begin that are counted together first."""


class Proof:
    """Tighter bounds of single windows of kilns that are alike, at any prices; `fits` may be one that has answers."""

    def __init__(self, crowd: Crowd, fits: Fitting) -> None:
        self.crowd, self.task, self.fits = crowd, crowd.task, fits
        self.mixer = Mixer(crowd.task, crowd.kiln)
        blocks = np.column_stack([crowd.group, crowd.days, crowd.start // BLOCK]).reshape(-1, 3)
        _, block = np.unique(blocks, axis=0, return_inverse=True)
        self.block = block.reshape(-1)

    def chain(self, prices: np.ndarray, watch: Stopwatch, until: float) -> float:
        """Most that charges beyond these prices of whole stacks bring one after another, EUR: the windows of the best
        chain are counted with those like them, then each by itself."""
        profit = self.crowd.profit(prices).profit.copy()
        heater = self.task.kilns[self.crowd.kiln].heater_kg_water_per_day
        sure, known = set[int](), set[int]()
        while len(sure) < LOOKS and not heater:
            doubtful = [row for row in self.crowd.chain(profit) if row not in sure]
            if not doubtful or watch.over(until):
                break
            for row in doubtful:
                if self.block[row] in known:
                    profit[row] = min(profit[row], self.window(row, prices))
                    sure.add(row)
            for block in sorted({int(self.block[row]) for row in doubtful} - known):
                rows = np.flatnonzero(self.block == block)
                profit[rows] = np.minimum(profit[rows], self.together(rows, prices))
                known.add(block)
                sure |= set(rows.tolist()) if len(rows) == 1 else set()
        return float(self.crowd.ahead(profit)[0])

    def together(self, rows: np.ndarray, prices: np.ndarray) -> np.ndarray:
        """What no charge of any of these windows brings beyond the prices: they are of one group and last as long, so
        that none brings more than one with the stacks of all that starts as early as the first."""
        one = self.crowd
        stacks = np.unique(np.concatenate([one.stack[one.first[row] : one.first[row + 1]] for row in rows.tolist()]))
        most = self._most(stacks.astype(int), int(one.start[rows].min()), int(one.days[rows[0]]), prices)
        found: np.ndarray = most - (1 + self.task.rules.empty_cost) * one.full_cost[rows]
        return found

    def window(self, row: int, prices: np.ndarray) -> float:
        """What no charge of the window brings beyond the prices. Not where a weak heater may make it last longer."""
        return float(self.together(np.array([row]), prices)[0])

    def _most(self, stacks: np.ndarray, start: int, days: int, prices: np.ndarray) -> float:
        """What no load of these stacks brings beyond the prices and what of its cost is saved where it is full, EUR."""
        one, task = self.crowd, self.task
        full = float(task.full_cost(one.kiln, np.array(start), np.array(days)))
        if task.kilns[one.kiln].loading == "hand":
            have = {stack: [count for *_, count in task.lumber[stack].pieces] for stack in stacks.tolist()}
            items = prices[task.items.stack] * task.items.part
            return self.mixer.mix(start, days, have, items).bound + (1 + task.rules.empty_cost) * full
        gain = task.gain(one.kiln, stacks, np.array(start), np.array(days)) - prices[stacks]
        gain = gain + task.rules.empty_cost * full * one.own[stacks]
        need = one.need[stacks]
        order = np.lexsort((stacks, -gain / need))
        order = order[gain[order] > 0]
        return searched(stacks[order].tolist(), gain[order], need[order], self.fits, NODES)[1]


def proven(proofs: Sequence[Proof], prices: np.ndarray, watch: Stopwatch, until: float) -> float:
    """What no plan can exceed: the prices paid back, and the best chain of charges of every kiln (Lagrange). The time
    up to a share of all is theirs by their number of kilns."""
    most, begun = float(prices.sum()), watch.spent / max(watch.seconds, 1e-9)
    kilns = sum(len(one.crowd.kilns) for one in proofs)
    for number in range(len(proofs)):
        done = sum(len(one.crowd.kilns) for one in proofs[: number + 1])
        end = begun + max(0.0, until - begun) * done / kilns
        most += len(proofs[number].crowd.kilns) * proofs[number].chain(prices, watch, end)
    return most
