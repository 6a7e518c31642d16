"""From the linear program to a plan, run by run: the run that it uses most is settled, and the rest priced anew.

A settled run is a kiln, a start, days and the stacks that may join; how much of each goes in stays open until all runs
are settled, so that no value is lost by rounding one load before the next is known.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np

from drying.packing.solver import INFINITY, Program
from drying.planner.book import Batch, items_of
from drying.planner.ceiling import Ceiling
from drying.planner.columns import Master, Offer, Selection, paying_by_length
from drying.planner.lengths import Lengths
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task
from drying.planner.wholes import Wholes

Run = tuple[int, int, int, tuple[int, ...]]
"""Kiln, start, days, the stacks that may join."""
SURE, LOOKS, ROUNDS = 0.98, 30, 2
ALONG, NODES = 12, 60


class Dive:
    def __init__(
        self,
        task: Task,
        offers: Sequence[Offer],
        ceilings: Sequence[Ceiling | Wholes],
        lengths: Mapping[int, Lengths],
        selection: Selection,
    ) -> None:
        self.task, self.offers, self.ceilings, self.lengths = task, offers, ceilings, lengths
        self.runs: list[Run] = []
        self.master = Master(task)
        for column in selection.columns:
            self.master.add(column)
        self.prices, self.day_prices = self.master.solve()

    def plan(self, watch: Stopwatch, until: float) -> list[Batch]:
        """Runs with the shares that the linear program gives them, parts of any size."""
        while (found := self._next()) and not watch.over(until):
            self.runs += found
            self._fix(found)
            self._bar(0)
            for _ in range(ROUNDS):
                first = len(self.master.columns)
                self.prices, self.day_prices = self.master.solve()
                if not self._priced():
                    break
                self._bar(first)
            self.prices, self.day_prices = self.master.solve()
        return self._batches()

    def along(self, watch: Stopwatch, until: float) -> list[Batch]:
        """The same for the runs that an integer program over the columns chooses, priced anew for them alone."""
        self.runs = self._chosen(watch, max(0.05, watch.left_on_wall(0.3)))
        self._fix(self.runs)
        self._bar(0)
        for _ in range(ALONG):
            first = len(self.master.columns)
            self.prices, self.day_prices = self.master.solve()
            if watch.over(until) or not self._priced():
                break
            self._bar(first)
        self.prices, self.day_prices = self.master.solve()
        return self._batches()

    def _chosen(self, watch: Stopwatch, seconds: float) -> list[Run]:
        """Runs of most value with the loads of the columns between them, parts of any size."""
        runs = [(one.kiln, one.start, one.days, self._joining(one)) for one in self.master.columns]
        row = {run: number for number, run in enumerate(dict.fromkeys(runs))}
        items, horizon = len(self.task.items.stack), self.task.horizon
        first = items + len(self.task.kilns) * horizon
        upper = [1.0] * first + [0.0] * len(row)
        parted = [self.task.kilns[run[0]].divides for run in row]
        lower = [-INFINITY] * first + [-INFINITY if some else 0.0 for some in parted]
        program = Program(lower, upper)
        for run, number in row.items():
            kiln, start, days, _ = run
            begin = items + kiln * horizon
            taken = range(begin + start, begin + min(start + days, horizon))
            program.add(0.0, [*taken, first + number], [*(1.0 for _ in taken), -1.0], 1.0, whole=True)
        for run, column, value in zip(runs, self.master.columns, self.master.values, strict=True):
            loads = items_of(self.task, column)
            program.add(-value, [*loads, first + row[run]], [*loads.values(), 1.0])
        if not program.solve(nodes=NODES, gap=1e-3, seconds=seconds):
            return []
        watch.cut |= program.out_of_time
        return [run for run, use in zip(row, program.values, strict=False) if use > 0.5]

    def _next(self) -> list[Run]:
        """The runs that are as good as chosen, or else the one that is chosen most."""
        uses: dict[Run, float] = defaultdict(float)
        for column, use in zip(self.master.columns, self.master.uses, strict=True):
            if use > 1e-6 and self._run_of(column) is None:
                uses[column.kiln, column.start, column.days, self._joining(column)] += use
        sure = [run for run, use in uses.items() if use >= SURE]
        return sure or ([max(uses, key=lambda run: (uses[run], -run[1], -run[0], run[3]))] if uses else [])

    def _joining(self, column: Batch) -> tuple[int, ...]:
        """The stacks that may join; where stacks go whole, the column's own and no others."""
        if self.task.kilns[column.kiln].divides:
            return column.window
        return tuple(stack for stack, _ in column.shares)

    def _fix(self, found: Sequence[Run]) -> None:
        """A set of whole stacks that was chosen goes, whatever else would like to have one of them."""
        for number, column in enumerate(self.master.columns):
            run = (column.kiln, column.start, column.days, self._joining(column))
            if run in found and not self.task.kilns[column.kiln].divides:
                self.master.program.fix(number, 1.0)

    def _run_of(self, column: Batch) -> int | None:
        """The settled run that the column is a load of."""
        for number, (kiln, start, days, window) in enumerate(self.runs):
            alike = (column.kiln, column.start) == (kiln, start) and column.days <= days
            if not alike or not set(window).issuperset(stack for stack, _ in column.shares):
                continue
            if self.task.kilns[kiln].divides or len(window) == len(column.shares):
                return number
        return None

    def _bar(self, first: int) -> None:
        """Columns from `first` on that clash with a settled run go no more."""
        for number, column in enumerate(self.master.columns[first:], first):
            clash = any(
                run[0] == column.kiln and run[1] < column.end and column.start < run[1] + run[2] for run in self.runs
            )
            if clash and self._run_of(column) is None:
                self.master.program.limit(number, 0.0)

    def _priced(self) -> int:
        """Adds columns that pay for what may still be chosen; how many."""
        sides = (self.task, self.offers, self.ceilings, self.lengths)
        found = paying_by_length(*sides, self.prices, self.day_prices, LOOKS, self._open)
        return sum(self.master.add(batch) for batch in found)

    def _open(self, offer: Offer | Lengths) -> np.ndarray:
        """Rows that clash with no settled run, or are one."""
        end = offer.start + offer.days
        free = np.ones(len(offer.start), dtype=bool)
        for kiln, start, days, _ in self.runs:
            if kiln == offer.kiln:
                free &= (offer.start >= start + days) | (end <= start)
        settled = set(self.runs)
        for row in np.flatnonzero(~free).tolist():
            key = (offer.kiln, int(offer.start[row]), int(offer.days[row]), offer.windows[row].stacks)
            free[row] = key in settled
        return free

    def _batches(self) -> list[Batch]:
        loads: list[dict[int, float]] = [defaultdict(float) for _ in self.runs]
        for column, use in zip(self.master.columns, self.master.uses, strict=True):
            number = self._run_of(column) if use > 1e-6 else None
            if number is not None:
                for item, share in items_of(self.task, column).items():
                    loads[number][item] += use * share
        found = [self._batch(run, load) for run, load in zip(self.runs, loads, strict=True) if load]
        return [one for one in found if one.shares]

    def _batch(self, run: Run, load: Mapping[int, float]) -> Batch:
        items = self.task.items
        taken = tuple(sorted((item, min(1.0, share)) for item, share in load.items() if share > 1e-6))
        shares: dict[int, float] = defaultdict(float)
        for item, share in taken:
            shares[int(items.stack[item])] += share * float(items.part[item])
        kiln, start, days, window = run
        if not self.task.kilns[kiln].divides:
            whole = len(shares) == len(window) and min(shares.values()) > 1 - 1e-6
            return Batch(kiln, start, days, tuple((stack, 1.0) for stack in window) if whole else (), window)
        return Batch(kiln, start, days, tuple(sorted(shares.items())), window, taken)
