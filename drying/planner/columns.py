"""Column generation: the linear program over charges, its prices of stacks and kiln-days, and the proven bound.

The bound takes the stacks' prices as given and lets every kiln choose its best chain of charges (dynamic programming
over days), so it holds at any prices (Lagrangian relaxation); the linear program only finds good ones.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drying.packing.solver import INFINITY, Program
from drying.planner.book import Batch, items_of, worth
from drying.planner.ceiling import Ceiling
from drying.planner.chain import Chain
from drying.planner.lengths import LOOKS, Lengths, Stop, never
from drying.planner.parts import Parts
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task
from drying.planner.wholes import Wholes

Offer = Parts | Wholes
OpenRows = Callable[[Offer | Lengths], np.ndarray]
"""Which of its rows may still be chosen."""
NO_LENGTHS: Mapping[int, Lengths] = {}
A_ROUND = 250
"""Columns added in a round, best first."""
LENGTH_ROUNDS, LENGTH_LOOKS, CHAIN_LOOKS = 40, 40, 80
SMOOTHING, NEAR = 0.5, 3e-4
"""Rounds in which windows are priced length by length, and how many of a kiln's windows in each: those that could pay
most, and those of its best chains."""


@dataclass(frozen=True, slots=True, eq=False)
class Selection:
    """`columns` with their `uses` in the linear program; prices of items, stacks (S) and kiln-days (K, T); `bound`
    in EUR, and `proving`, the prices of items that gave it."""

    columns: list[Batch]
    values: list[float]
    uses: list[float]
    prices: np.ndarray
    stack_prices: np.ndarray
    day_prices: np.ndarray
    bound: float
    proving: np.ndarray

    def reduced(self, batch: Batch, value: float) -> float:
        """What a column brings beyond the prices of its stacks and days."""
        if batch.items:
            stacks = sum(share * float(self.prices[item]) for item, share in batch.items)
        else:
            stacks = sum(share * float(self.stack_prices[stack]) for stack, share in batch.shares)
        return value - stacks - float(self.day_prices[batch.kiln, batch.start : batch.end].sum())

    def rent(self, kiln: int, start: np.ndarray, days: np.ndarray) -> np.ndarray:
        """Price of the kiln for these runs."""
        return rent(self.day_prices[kiln], start, days)


def select(
    task: Task,
    offers: Sequence[Offer],
    ceilings: Sequence[Ceiling | Wholes],
    lengths: Mapping[int, Lengths],
    first: Sequence[Batch],
    watch: Stopwatch,
    rounds: int,
) -> Selection:
    """Columns from `offers` until none pays or the rounds are over, then from `lengths` (by kiln), which see what fits
    together in a lane; `ceilings` must cover every possible charge."""
    master = Master(task)
    for batch in first:
        master.add(batch)
    search = _Search(task, offers, ceilings, lengths, master)
    for _ in range(rounds):
        going = search.blind_round()
        watch.found(0.0, search.bound)
        if not going or watch.over(0.5):
            break
    for _ in range(LENGTH_ROUNDS if lengths else 0):
        if watch.over(0.55) or not search.length_round():
            break
    watch.found(0.0, search.bound)
    found, prices, stacks = search.master, search.prices, task.items.by_stack(search.prices)
    return Selection(
        found.columns, found.values, found.uses, prices, stacks, search.day_prices, search.bound, search.proving
    )


class _Search:
    """Prices and the bound as they stand, from round to round."""

    def __init__(
        self,
        task: Task,
        offers: Sequence[Offer],
        ceilings: Sequence[Ceiling | Wholes],
        lengths: Mapping[int, Lengths],
        master: "Master",
    ) -> None:
        self.task, self.offers, self.ceilings, self.lengths, self.master = task, offers, ceilings, lengths, master
        self.prices, self.day_prices = np.zeros(len(task.items.stack)), np.zeros((len(task.kilns), task.horizon))
        self.bound = bound(task, ceilings, self.prices)
        self.proving = self.prices

    def blind_round(self) -> bool:
        """One round of columns that count each stack by its own need; whether another one may help."""
        before = len(self.master.columns)
        for batch in paying(self.task, self.offers, self.prices, self.day_prices):
            self.master.add(batch)
        if len(self.master.columns) == before:
            return False
        self.prices, self.day_prices = self.master.solve()
        self._prove(self.prices, 0)
        return self._open()

    def length_round(self) -> bool:
        """One round of columns whose lengths go together, those of the best chains first; whether another one may help.
        They are priced halfway to the prices that proved most (smoothing): the program's own swing from round to round.
        """
        for weight in (SMOOTHING, 0.0):
            prices = weight * self.proving + (1 - weight) * self.prices
            self._prove(prices, CHAIN_LOOKS)
            sides = (self.task, self.offers, self.ceilings, self.lengths)
            found = list(paying_by_length(*sides, prices, self.day_prices, LENGTH_LOOKS))
            if sum(self.master.add(batch) for batch in found):
                self.prices, self.day_prices = self.master.solve()
                return self._open(NEAR)
        return False

    def _open(self, near: float = 1e-6) -> bool:
        """Whether bound and value still differ; they can't be compared where staying in place is worth something."""
        if math.isinf(self.bound) or self.task.kept.any():
            return True
        return self.bound - self.master.objective > near * max(1.0, self.bound)

    def _prove(self, prices: np.ndarray, looks: int) -> None:
        """Lowers the bound by these prices, where they can."""
        proven = bound(self.task, self.ceilings, prices, self.lengths, looks)
        if proven < self.bound:
            self.bound, self.proving = proven, prices


def unpriced(task: Task, bound: float) -> Selection:
    """No columns and no prices, where there was no time for them."""
    stacks, days = np.zeros(len(task.lumber)), np.zeros((len(task.kilns), task.horizon))
    items = np.zeros(len(task.items.stack))
    return Selection([], [], [], items, stacks, days, bound, items)


def rent(day_prices: np.ndarray, start: np.ndarray, days: np.ndarray) -> np.ndarray:
    """Sum of the prices of the days of each run within the horizon."""
    until = np.concatenate([[0.0], np.cumsum(day_prices)])
    end: np.ndarray = until[np.minimum(start + days, len(day_prices))] - until[start]
    return end


class Master:
    """The linear program: most value, no item more than once, no kiln twice a day."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.columns: list[Batch] = []
        self.values: list[float] = []
        self.uses: list[float] = []
        self.objective = 0.0
        self._known: set[tuple[int, int, tuple[tuple[int, float], ...]]] = set()
        rows = len(task.items.stack) + len(task.kilns) * task.horizon
        self.program = Program([-INFINITY] * rows, [1.0] * rows)

    def add(self, batch: Batch) -> bool:
        """Whether the column is a new one."""
        key = (batch.kiln, batch.start, tuple((one, round(share, 6)) for one, share in batch.items or batch.shares))
        if key in self._known:
            return False
        self._known.add(key)
        value = worth(self.task, batch)
        first = len(self.task.items.stack) + batch.kiln * self.task.horizon
        days = range(first + batch.start, first + min(batch.end, self.task.horizon))
        taken = items_of(self.task, batch)
        self.program.add(-value, [*taken, *days], [*taken.values(), *(1.0 for _ in days)])
        self.columns.append(batch)
        self.values.append(value)
        return True

    def solve(self) -> tuple[np.ndarray, np.ndarray]:
        self.program.solve()
        self.uses = self.program.values
        self.objective = -self.program.objective
        duals = np.maximum(-self.program.duals, 0.0)
        number = len(self.task.items.stack)
        return duals[:number], duals[number:].reshape(len(self.task.kilns), self.task.horizon)


def paying(
    task: Task,
    offers: Sequence[Offer],
    prices: np.ndarray,
    day_prices: np.ndarray,
    open_rows: OpenRows | None = None,
) -> Iterator[Batch]:
    """The best columns above zero, at most one a kiln, start and group; from the rows that are open."""
    found: list[tuple[float, int, int]] = []
    stack_prices = task.items.by_stack(prices)
    priced = [offer.price(stack_prices) for offer in offers]
    for number, (offer, (profit, _)) in enumerate(zip(offers, priced, strict=True)):
        reduced = profit - rent(day_prices[offer.kiln], offer.start, offer.days)
        if open_rows is not None:
            reduced = np.where(open_rows(offer), reduced, -np.inf)
        best: dict[tuple[int, int], tuple[float, int]] = {}
        for row in np.flatnonzero(reduced > 1e-6).tolist():
            key = (int(offer.start[row]), int(task.groups[offer.windows[row].stacks[0]]))
            if key not in best or reduced[row] > best[key][0]:
                best[key] = (float(reduced[row]), row)
        found += [(gain, number, row) for gain, row in best.values()]
    for _, number, row in sorted(found, key=lambda one: (-one[0], one[1], one[2]))[:A_ROUND]:
        if batch := offers[number].batch(row, priced[number][1]):
            yield batch


def paying_by_length(
    task: Task,
    offers: Sequence[Offer],
    ceilings: Sequence[Ceiling | Wholes],
    lengths: Mapping[int, Lengths],
    prices: np.ndarray,
    day_prices: np.ndarray,
    looks: int,
    open_rows: OpenRows | None = None,
) -> Iterator[Batch]:
    """The best columns above zero whose lengths go together, from so many windows of a kiln, then `paying`."""
    for ceiling in ceilings:
        if own := lengths.get(ceiling.kiln):
            profit = ceiling.profit(prices)
            if open_rows is not None:
                profit = np.where(open_rows(own), profit, -np.inf)
            rents = rent(day_prices[ceiling.kiln], own.start, own.days)
            for _, batch in own.paying(prices, rents, profit, looks):
                yield batch
    yield from paying(task, offers, prices, day_prices, open_rows)


def bound(
    task: Task,
    ceilings: Sequence[Ceiling | Wholes],
    prices: np.ndarray,
    lengths: Mapping[int, Lengths] = NO_LENGTHS,
    looks: int = LOOKS,
    stop: Stop = never,
) -> float:
    """Upper bound on any plan's value at these prices: prices paid back, and each kiln's best chain of charges."""
    total, stack_prices = float(prices.sum()), task.items.by_stack(prices)
    for ceiling in ceilings:
        profit = ceiling.profit(stack_prices if isinstance(ceiling, Wholes) else prices)
        if own := lengths.get(ceiling.kiln):
            total += own.most(prices, profit, looks, stop)
            continue
        total += Chain(task.horizon, ceiling.start, ceiling.days).best(profit)[0]
    return total


def tightened(
    task: Task,
    ceilings: Sequence[Ceiling | Wholes],
    lengths: Mapping[int, Lengths],
    selection: Selection,
    watch: Stopwatch,
    until: float,
) -> float:
    """The selection's bound with more windows counted exactly, as long as this share of the time is not over."""
    most = selection.bound
    for prices in (selection.proving, selection.prices):
        if lengths and not watch.over(until):
            most = min(most, bound(task, ceilings, prices, lengths, LOOKS, lambda: watch.over(until)))
    return most
