"""Fractional loads: for each window, the best mix of stacks at given stack prices, all windows of a kiln at once."""

from collections.abc import Sequence
from copy import copy

import numpy as np

from drying.planner.book import Batch
from drying.planner.task import Task
from drying.planner.windows import Window

ROWS = ("stacks", "inside", "start", "days", "gain", "need", "tight", "full_cost", "least")
Priced = tuple[np.ndarray, np.ndarray]


class Parts:
    """The windows of one kiln that may take a part of a stack, as arrays: a row a window, its stacks padded."""

    def __init__(self, task: Task, kiln: int, offered: Sequence[Window]) -> None:
        self.task, self.kiln, self.windows = task, kiln, list(offered)
        width = max((len(one.stacks) for one in offered), default=1)
        self.stacks = np.zeros((len(offered), width), dtype=int)
        self.inside = np.zeros((len(offered), width), dtype=bool)
        for row, one in enumerate(offered):
            self.stacks[row, : len(one.stacks)] = one.stacks
            self.inside[row, : len(one.stacks)] = True
        self.start = np.array([one.start for one in offered], dtype=int)
        self.days = np.array([one.days for one in offered], dtype=int)
        self.gain = task.gain(kiln, self.stacks, self.start[:, None], self.days[:, None])
        self.need = np.where(self.inside, task.need.share[kiln, self.stacks], 1.0)
        rate = task.kilns[kiln].heater_kg_water_per_day
        self.tight = self.need
        if rate:
            water = task.water[self.stacks, self.start[:, None]] / (rate * self.days[:, None])
            self.tight = np.maximum(self.need, water)
        self.full_cost = task.full_cost(kiln, self.start, self.days)
        ordered = (task.order[self.stacks] > 0) & self.inside
        self.least = np.where(ordered.any(axis=1), 0.0, task.rules.smallest_fill)
        self.kept: list[tuple[bytes, Priced]] = []

    def with_stack(self, stack: int) -> "Parts":
        """Only the windows that hold this stack."""
        return self.only(np.flatnonzero(((self.stacks == stack) & self.inside).any(axis=1)))

    def only(self, rows: np.ndarray) -> "Parts":
        """Only these windows."""
        some = copy(self)
        some.windows = [self.windows[row] for row in rows.tolist()]
        for name in ROWS:
            setattr(some, name, getattr(self, name)[rows])
        some.kept = []
        return some

    def of(self, kiln: int) -> "Parts":
        """The same windows of a kiln that is like this one."""
        twin = copy(self)
        twin.kiln = kiln
        return twin

    def price(self, stack_prices: np.ndarray, left: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
        """Best profit of each window (-inf where it cannot be filled enough), and the shares that give it.

        A fractional knapsack by gain over need, filled on to the least fill that is wanted; `left` limits the shares.
        """
        if left is not None:
            return self._priced(stack_prices, left)
        key = stack_prices.tobytes()
        if not self.kept or self.kept[0][0] != key:
            self.kept[:] = [(key, self._priced(stack_prices, None))]
        return self.kept[0][1]

    def _priced(self, stack_prices: np.ndarray, left: np.ndarray | None) -> Priced:
        rules, need = self.task.rules, self.tight
        density = (
            self.gain - stack_prices[self.stacks] + rules.empty_cost * self.full_cost[:, None] * self.need
        ) / need
        density = np.where(self.inside, density, -np.inf)
        order = np.argsort(-density, axis=1, kind="stable")
        ranked = np.take_along_axis(density, order, axis=1)
        whole = need * self.inside if left is None else need * self.inside * left[self.stacks]
        room = np.take_along_axis(whole, order, axis=1)
        before = np.cumsum(room, axis=1) - room
        take = np.clip(np.where(ranked > 0, 1.0, self.least[:, None]) - before, 0.0, room)
        profit = (take * np.where(take > 0, ranked, 0.0)).sum(axis=1) - (1 + rules.empty_cost) * self.full_cost
        enough = take.sum(axis=1) >= self.least - 1e-9
        shares = np.zeros_like(take)
        np.put_along_axis(shares, order, take, axis=1)
        return np.where(enough, profit, -np.inf), shares / need

    def profits(self, rows: np.ndarray, left: np.ndarray) -> np.ndarray:
        """Profit of these rows at no prices, from what is left."""
        return self.only(rows).price(np.zeros(len(self.task.lumber)), left)[0]

    def batch(self, row: int, shares: np.ndarray) -> Batch | None:
        """The load of one window, as it was priced; None where that can't be had."""
        chosen = [(int(s), float(f)) for s, f in zip(self.stacks[row], shares[row], strict=True) if f > 1e-7]
        return Batch(
            self.kiln, int(self.start[row]), int(self.days[row]), tuple(sorted(chosen)), self.windows[row].stacks
        )
