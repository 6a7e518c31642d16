"""Where each stack could go: the windows of every kiln that hold it, and what its space costs there."""

from collections.abc import Sequence

import numpy as np

from drying.planner.columns import Offer, Selection
from drying.planner.parts import Parts
from drying.planner.task import Task
from drying.planner.windows import Window

FIRST = 1e7
"""EUR that put a stack before all others in a fractional load, taken off again afterwards."""


class Places:
    """The windows of one kiln as arrays; `reach` limits how full it gets with each stack (None: by need alone)."""

    def __init__(self, task: Task, kiln: int, offered: Sequence[Window], reach: np.ndarray | None) -> None:
        self.task, self.kiln, self.reach = task, kiln, reach
        self.start = np.array([one.start for one in offered], dtype=int)
        self.days = np.array([one.days for one in offered], dtype=int)
        self.holds = np.zeros((len(offered), len(task.lumber)), dtype=bool)
        for row, one in enumerate(offered):
            self.holds[row, list(one.stacks)] = True
        need = task.need.share[kiln]
        self.full = self.holds @ np.where(np.isfinite(need), need, 0.0)

    def rows(self, stack: int) -> np.ndarray:
        return np.flatnonzero(self.holds[:, stack])

    def fills(self, stack: int) -> np.ndarray:
        """How full the kiln gets at best in each window with this stack."""
        most = 1.0 if self.reach is None else float(self.reach[stack])
        filled: np.ndarray = np.minimum(most, self.full[self.rows(stack)])
        return filled

    def rents(self, offer: Offer, selection: Selection, stack: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Starts at which the stack could go, what it brings there, and the rent of its space: the kiln's cost and
        price, less what the best others bring beside it beyond their prices."""
        if not selection.columns or self.task.large:
            return self._alone(selection, stack)
        prices = selection.stack_prices.copy()
        prices[stack] = 0.0
        if isinstance(offer, Parts):
            some = offer.with_stack(stack)
            prices[stack] = -FIRST
            profit, shares = some.price(prices)
            part = np.where(some.stacks == stack, shares, 0.0).max(axis=1)
            start, days, net = some.start, some.days, profit - FIRST * part
        else:
            rows = np.flatnonzero(offer.holds[:, stack])
            start, days, net = offer.start[rows], offer.days[rows], offer.profit(prices)[rows]
            part = np.ones(len(rows))
        if not np.isfinite(net).any():
            return self._alone(selection, stack)
        brings = part * self.task.gain(self.kiln, np.array([stack]), start, days)
        return start, brings, brings - (net - selection.rent(self.kiln, start, days))

    def _alone(self, selection: Selection, stack: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Where no charge with it pays at all: its part of the kiln's cost and price, as full as it can get there."""
        rows, fill = self.rows(stack), np.maximum(self.fills(stack), 1e-9)
        start, days = self.start[rows], self.days[rows]
        brings = self.task.gain(self.kiln, np.array([stack]), start, days)
        run = self.task.full_cost(self.kiln, start, days) * (1 + self.task.rules.empty_cost * (1 - fill))
        rent = selection.rent(self.kiln, start, days) + run
        return start, brings, float(self.task.need.share[self.kiln, stack]) / fill * rent
