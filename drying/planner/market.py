"""What stacks and kiln days are worth in a large yard: the linear program over the windows of all kilns, its prices,
and a bound that holds at any prices.

Kilns that are alike share their windows and the rows of their days (identical kilns would only be told apart by name).
Prices are steadied: windows are priced between the program's own prices and those of the best bound so far, as the
program's own swing wildly while columns are few (smoothing after Wentges 1997, from memory).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from drying.packing.solver import INFINITY, Program
from drying.planner.columns import Selection, rent
from drying.planner.crowd import Crowd, Priced
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task

ROUNDS = 60
STEADY = 0.5
"""Weight of the prices of the best bound in those that windows are priced at."""
A_ROUND = 400
"""Columns added in a round, best first."""
NEAR = 1e-3
"""The program ends where bound and value are so near each other, as a share of the bound."""


@dataclass(frozen=True, slots=True, eq=False)
class Market:
    """Prices of stacks (S) at the best bound, those of stacks and of kiln days (K, T) in the program, EUR."""

    steady_prices: np.ndarray
    prices: np.ndarray
    day_prices: np.ndarray
    bound: float

    def selection(self, task: Task) -> Selection:
        """The prices as the rest of the planner knows them."""
        prices = self.prices[task.items.stack] * task.items.part
        return Selection([], [], [], prices, self.prices, self.day_prices, self.bound, prices)


def bound_at(crowds: Sequence[Crowd], prices: np.ndarray, priced: Sequence[Priced]) -> float:
    """What no plan can exceed: the prices paid back, and the best chain of charges of every kiln (Lagrange)."""
    chains = [len(one.kilns) * float(one.ahead(of.profit)[0]) for one, of in zip(crowds, priced, strict=True)]
    return float(prices.sum()) + sum(chains)


def traded(task: Task, crowds: Sequence[Crowd], watch: Stopwatch, share: float, rounds: int = ROUNDS) -> Market:
    """The market in balance, or as near as rounds and a share of the time allow."""
    return _Trade(task, crowds).balanced(watch, share, rounds)


Column = tuple[float, int, int, np.ndarray, np.ndarray, float]
"""Reduced value, crowd, window, stacks, their shares, value."""


class _Trade:
    def __init__(self, task: Task, crowds: Sequence[Crowd]) -> None:
        self.task, self.crowds, self.number = task, crowds, len(task.lumber)
        days = [float(len(one.kilns)) for one in crowds for _ in range(task.horizon)]
        upper = [1.0] * self.number + days
        self.program = Program([-INFINITY] * len(upper), upper)
        self.prices, self.best = np.zeros(self.number), np.zeros(self.number)
        self.days = np.zeros((len(crowds), task.horizon))
        self.bound, self.objective = math.inf, 0.0

    def balanced(self, watch: Stopwatch, share: float, rounds: int) -> Market:
        for number in range(rounds):
            if self._ended() or (number and watch.over(share)):
                break
            new = self._priced(STEADY if number > 1 else 0.0)
            new = new or (self._priced(0.0) if number > 1 else [])
            watch.found(0.0, self.bound)
            if not new:
                break
            self._add(new)
        days = np.zeros((len(self.task.kilns), self.task.horizon))
        for one, prices in zip(self.crowds, self.days, strict=True):
            days[one.kilns] = prices
        return Market(self.best, self.prices, days, self.bound)

    def _ended(self) -> bool:
        return math.isfinite(self.bound) and self.bound - self.objective <= NEAR * self.bound

    def _priced(self, steady: float) -> list[Column]:
        """Columns that pay at the program's prices, the best of windows priced between these and the best bound's."""
        prices = steady * self.best + (1 - steady) * self.prices
        priced = [one.profit(prices) for one in self.crowds]
        bound = bound_at(self.crowds, prices, priced)
        if bound < self.bound:
            self.bound, self.best = bound, prices
        found = [one for number, of in enumerate(priced) for one in self._paying(number, of)]
        return sorted(found, key=lambda one: (-one[0], one[1], one[2]))[:A_ROUND]

    def _paying(self, number: int, priced: Priced) -> Iterator[Column]:
        """The best window of each start and group, and those of the best chain."""
        one = self.crowds[number]
        rents = rent(self.days[number], one.start, one.days)
        reduced = priced.profit - rents
        key = one.start * (int(one.group.max(initial=0)) + 1) + one.group
        order = np.lexsort((np.arange(len(key)), -reduced, key))
        heads = order[np.concatenate([[True], key[order][1:] != key[order][:-1]])] if len(key) else order
        for row in sorted({*heads[reduced[heads] > 1e-6].tolist(), *one.chain(priced.profit)}):
            stacks, shares = priced.load(row)
            value = self._value(one, row, stacks, shares)
            gain = value - float(shares @ self.prices[stacks]) - float(rents[row])
            if gain > 1e-6:
                yield gain, number, row, stacks, shares, value

    def _value(self, one: Crowd, row: int, stacks: np.ndarray, shares: np.ndarray) -> float:
        start, days = one.start[row], one.days[row]
        gain = float(shares @ self.task.gain(one.kiln, stacks, start, days))
        return gain - self.task.cost(one.kiln, int(start), int(days), float(shares @ one.own[stacks]))

    def _add(self, columns: Sequence[Column]) -> None:
        for _, number, row, stacks, shares, value in columns:
            one, first = self.crowds[number], self.number + number * self.task.horizon
            days = range(first + int(one.start[row]), first + int(one.end[row]))
            self.program.add(-value, [*stacks.tolist(), *days], [*shares.tolist(), *(1.0 for _ in days)])
        self.program.solve()
        self.objective = -self.program.objective
        duals = np.maximum(-self.program.duals, 0.0)
        self.prices = duals[: self.number]
        self.days = duals[self.number :].reshape(len(self.crowds), self.task.horizon)
