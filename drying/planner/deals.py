"""Really filled charges of a large yard against one another: their linear program, whose prices ask for further ones,
and the integer program that chooses among them. Kilns that are alike share the rows of their days: charges that never
run in more of them at once than there are can always be told out to them one by one.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from drying.packing.solver import INFINITY, Program
from drying.planner.book import Batch, Book, items_of, total, worth
from drying.planner.campaign import Campaigns
from drying.planner.columns import rent
from drying.planner.crowd import Crowd
from drying.planner.stopwatch import Stopwatch

LOOKS = 40
"""Windows of a kind of kilns that are filled in a round."""
MOST = 900
"""Charges that the integer program chooses among."""


class Deals:
    """Charges by kind of kilns, each under the first kiln of its kind; `prices` of whole stacks, `days` of kinds."""

    def __init__(self, campaigns: Campaigns, crowds: Sequence[Crowd]) -> None:
        self.campaigns, self.crowds, self.task = campaigns, crowds, campaigns.task
        self.kind = {kiln: number for number, one in enumerate(crowds) for kiln in one.kilns}
        self.batches: dict[Batch, None] = {}
        self.uses: list[float] = []
        self.prices = np.zeros(len(self.task.lumber))
        self.days = np.zeros((len(crowds), self.task.horizon))
        self.program, self._in = self._rows(), 0

    def begin(self, prices: np.ndarray, day_prices: np.ndarray, batches: Iterable[Batch]) -> None:
        """With these prices of stacks and of each kiln's days, and with these charges."""
        self.prices, self.days = prices, day_prices[[one.kiln for one in self.crowds]]
        self.offer(batches)

    def offer(self, batches: Iterable[Batch]) -> None:
        for batch in batches:
            self.batches.setdefault(replace(batch, kiln=self.crowds[self.kind[batch.kiln]].kiln))

    def _rows(self) -> Program:
        days = [float(len(one.kilns)) for one in self.crowds for _ in range(self.task.horizon)]
        upper = [1.0 + 1e-6] * len(self.task.items.stack) + days
        return Program([-INFINITY] * len(upper), upper)

    def _add(self, program: Program, batch: Batch, whole: bool) -> None:
        first = len(self.task.items.stack) + self.kind[batch.kiln] * self.task.horizon
        days = range(first + batch.start, first + min(batch.end, self.task.horizon))
        taken = items_of(self.task, batch)
        rows, values = [*taken, *days], [*taken.values(), *(1.0 for _ in days)]
        program.add(-self._brings(batch), rows, values, 1.0 if whole else INFINITY, whole=whole)

    def _brings(self, batch: Batch) -> float:
        """Half of what splits cost at most: of two parts of a stack one costs nothing."""
        parted = sum(1 for _, share in batch.shares if share < 1 - 1e-6)
        return worth(self.task, batch) - self.task.rules.split_cost * parted / 2

    def solve(self) -> float:
        """Prices all that is offered; the linear program's value, EUR."""
        for batch in list(self.batches)[self._in :]:
            self._add(self.program, batch, whole=False)
        self._in = len(self.batches)
        self.program.solve()
        self.uses = self.program.values
        duals, number = np.maximum(-self.program.duals, 0.0), len(self.task.items.stack)
        self.prices = self.task.items.by_stack(duals[:number])
        self.days = duals[number:].reshape(len(self.crowds), self.task.horizon)
        return -self.program.objective

    def round(self, watch: Stopwatch, until: float) -> int:
        """Fills the windows that promise most at the present prices; how many further charges that gave."""
        before, book = len(self.batches), Book(self.task)
        for number, one in enumerate(self.crowds):
            rents = rent(self.days[number], one.start, one.days)
            reduced = one.profit(self.prices).profit - rents
            seen: set[tuple[int, int]] = set()
            for row in np.argsort(-reduced, kind="stable").tolist():
                key = int(one.start[row]), int(one.group[row])
                if reduced[row] <= 0 or len(seen) >= LOOKS or watch.over(until):
                    break
                if key not in seen:
                    seen.add(key)
                    batch = self.campaigns.loaded(one, one.kiln, row, book, self.prices)
                    self.offer([batch] if batch else [])
        return len(self.batches) - before

    def chosen(self, start: Sequence[Batch], watch: Stopwatch, nodes: int, share: float) -> list[Batch]:
        """The best plan of these charges that the solver finds within a share of the time left, at least `start`."""
        offered = list(self.batches)
        reduced = np.array([self._reduced(batch) for batch in offered])
        inside = {replace(one, kiln=self.crowds[self.kind[one.kiln]].kiln) for one in start}
        order = sorted(range(len(offered)), key=lambda n: (offered[n] not in inside, -reduced[n], n))[:MOST]
        program, some = self._rows(), [offered[number] for number in order]
        for batch in some:
            self._add(program, batch, whole=True)
        program.start_from([float(batch in inside) for batch in some])
        if not program.solve(nodes=nodes, gap=1e-4, seconds=max(0.05, share * watch.left)):
            return list(start)
        watch.cut |= program.out_of_time
        plan = self._told_out([batch for batch, use in zip(some, program.values, strict=True) if use > 0.5])
        return plan if total(self.task, plan) > total(self.task, start) else list(start)

    def _reduced(self, batch: Batch) -> float:
        value = worth(self.task, batch) - sum(share * float(self.prices[stack]) for stack, share in batch.shares)
        return value - float(self.days[self.kind[batch.kiln], batch.start : batch.end].sum())

    def _told_out(self, batches: Sequence[Batch]) -> list[Batch]:
        """Each charge in a kiln of its kind that is free."""
        free, found = dict.fromkeys(self.kind, 0), list[Batch]()
        for batch in sorted(batches, key=lambda one: (one.start, one.kiln, one.days, one.shares)):
            able = [kiln for kiln in self.crowds[self.kind[batch.kiln]].kilns if free[kiln] <= batch.start]
            if able:
                kiln = max(able, key=lambda one: (free[one], -one))
                free[kiln] = batch.end
                found.append(replace(batch, kiln=kiln))
        return sorted(found, key=lambda one: (one.start, one.kiln))
