"""What the selection works on: the windows of each kiln, what it prices them with, and what bounds them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from drying.planner.broad import few_windows, wide_windows
from drying.planner.ceiling import Ceiling
from drying.planner.crowd import Crowd
from drying.planner.fill import Offer
from drying.planner.fixings import Fixed
from drying.planner.lengths import Lengths
from drying.planner.parts import Parts
from drying.planner.picks import Picks
from drying.planner.sets import Sets
from drying.planner.task import Task, twins
from drying.planner.wholes import Wholes
from drying.planner.windows import Window, windows

FEW = 14
"""Whole stacks in a window up to which every set of them is looked at."""
FINE_KINDS = 4
"""Kinds of kilns up to which a large yard has a window for every length of run; else for every other."""


@dataclass(frozen=True, eq=False)
class Stage:
    """Kilns that are alike share everything. What only the bound needs is made when it is asked for."""

    task: Task
    fixed: Fixed

    @property
    def _twins(self) -> Sequence[int]:
        """The first of the kilns that each is like; by itself, where a person has fixed what goes where."""
        return range(len(self.task.kilns)) if self.fixed.kept.places else self.task.twin

    @cached_property
    def offered(self) -> dict[int, list[Window]]:
        found: dict[int, list[Window]] = {}
        for kiln, twin in enumerate(self._twins):
            if twin == kiln:
                found[kiln] = self.fixed.allowed(kiln, self._windows(kiln))
            else:
                found[kiln] = found[twin]
        return found

    def _windows(self, kiln: int) -> list[Window]:
        """In a large yard few, but all of those on the days on which a charge has to start."""
        if not self.task.large:
            return windows(self.task, kiln)
        days = np.isin(np.arange(self.task.horizon), self.fixed.start_days(kiln))
        here = replace(self.task, starts=self.task.starts & days) if days.any() else None
        return few_windows(self.task, kiln) + (windows(here, kiln) if here else [])

    @cached_property
    def offers(self) -> list[Offer]:
        made: list[Offer] = []
        for kiln, twin in enumerate(self._twins):
            made.append(made[twin].of(kiln) if twin != kiln else self._offer(kiln))
        return made

    def _offer(self, kiln: int) -> Offer:
        some = self.offered[kiln]
        if self.task.kilns[kiln].divides:
            return Parts(self.task, kiln, some)
        many = max((len(one.stacks) for one in some), default=0) > FEW
        return Picks(self.task, kiln, some) if many else Wholes(self.task, kiln, some)

    @cached_property
    def ceilings(self) -> list[Ceiling | Wholes]:
        """Bounds on what charges bring, without what staying in place is worth: that is no money."""
        bare = replace(self.task, kept=np.zeros_like(self.task.kept), worths={})
        made: list[Ceiling | Wholes] = []
        for kiln, twin in enumerate(self._twins):
            one, offer = made[twin] if twin != kiln else None, self.offers[kiln]
            if isinstance(offer, Wholes) and offer.complete and not self.task.kept.any():
                made.append(offer)
            elif isinstance(one, Ceiling):
                made.append(one.of(kiln))
            else:
                made.append(Ceiling(bare, kiln, self.offered[kiln]))
        return made

    @cached_property
    def crowds(self) -> list[Crowd]:
        """All windows of a large yard, by kilns that are alike, without what staying in place is worth."""
        task = replace(self.task, kept=np.zeros_like(self.task.kept), worths={})
        kinds: dict[int, list[int]] = {}
        for kiln, twin in enumerate(range(len(task.kilns)) if self.fixed.kept.places else twins(task)):
            kinds.setdefault(twin, []).append(kiln)
        step = 1 if len(kinds) <= FINE_KINDS else 2
        return [
            Crowd(task, kilns, self.fixed.allowed(first, wide_windows(task, first, step)))
            for first, kilns in kinds.items()
        ]

    @cached_property
    def lengths(self) -> Mapping[int, Lengths]:
        """What counts single windows exactly; in a large yard there are too many of them. Under a weak heater a charge
        may last longer than any of its windows, so that none bounds it."""
        if self.task.large:
            return {}
        bare = replace(self.task, kept=np.zeros_like(self.task.kept), worths={})
        found: dict[int, Lengths] = {}
        for offer in self.offers:
            if isinstance(offer, Picks):
                found[offer.kiln] = Sets(bare, offer)
            elif isinstance(offer, Parts) and not self.task.kilns[offer.kiln].heater_kg_water_per_day:
                found[offer.kiln] = Lengths(bare, offer.kiln, self.offered[offer.kiln])
        return found

    def loose_bound(self) -> float:
        """What all stacks would bring at their best start: a bound for plans made in no time."""
        task, best = self.task, np.zeros(len(self.task.lumber))
        days = np.arange(task.horizon)
        for kiln in range(len(task.kilns)):
            start = np.where((task.ready[:, None] <= days) & np.isfinite(task.days[kiln]), days, -1)
            stacks = np.arange(len(task.lumber))[:, None]
            lasting = np.where(np.isfinite(task.days[kiln]), task.days[kiln], 1.0)
            gain = task.gain(kiln, stacks, days[None, :], lasting) - task.kept[kiln]
            best = np.maximum(best, np.where(start >= 0, gain, 0.0).max(axis=1, initial=0.0))
        return float(best.sum())
