"""The day on which a need can be had, how sure that is, and whether a day that was promised has moved since."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from yard.models import Need
from yard.outlook.servers import Server
from yard.outlook.serving import Served, kept_for, serve

SLIPPED = 0.2  # a promise that has lost so much of its chance is told: our own choice


@dataclass(frozen=True, slots=True)
class Promise:
    """When all that is kept for a need is dry enough: by `middle` as likely as not, by `sure` nine times in ten.

    `enough`: what is kept comes to the volume of every line.
    """

    middle: date
    sure: date
    enough: bool
    kept: list[Server]

    def chance(self, day: date) -> float:
        """The stacks' chances multiplied, as if they dried each for itself: not better than this."""
        product = 1.0
        for one in self.kept:
            product *= one.chance(day)
        return product


def promise(served: Iterable[Served], on: date) -> Promise | None:
    """None where nothing is kept, or nobody can say when some of it is dry."""
    served = list(served)
    kept = [one for each in served for one in each.kept]
    if not kept or any(one.days is None and not one.is_dry for one in kept):
        return None
    enough = not any(each.lacking_m3 for each in served)
    found = Promise(on, on, enough, kept)
    last = max([on, *(one.days[1] + (one.days[1] - one.days[0]) * 2 for one in kept if one.days)])
    middle, sure = (_first_by(found, on, last, chance) for chance in (0.5, 0.9))
    return Promise(middle, sure, enough, kept)


def _first_by(found: Promise, first: date, last: date, chance: float) -> date:
    """The first day by which the chance is so large, halving the days between."""
    low, high = 0, max((last - first).days, 0)
    while low < high:
        middle = (low + high) // 2
        if found.chance(first + timedelta(days=middle)) >= chance:
            high = middle
        else:
            low = middle + 1
    return first + timedelta(days=high)


@dataclass(frozen=True, slots=True)
class Wanted:
    """A need with its lines, each with the stacks that could serve it; `promise` for what is kept."""

    need: Need
    lines: list[Served]
    promise: Promise | None

    @property
    def volume_m3(self) -> float:
        """Green volume that is kept for any of its lines or still free, each stack once."""
        if not self.lines:
            return 0.0
        free = np.zeros(len(self.lines[0].servers.yard))
        for line in self.lines:
            free[line.servers.at] = line.servers.free_m3
        return float(free.sum() + sum(line.servers.kept_m3.sum() for line in self.lines))

    @property
    def is_enough(self) -> bool:
        return all(one.is_enough for one in self.lines)

    @property
    def chance_now(self) -> float | None:
        """Of the day that was promised."""
        day = self.need.promised_on
        return self.promise.chance(day) if self.promise and day else None

    @property
    def has_slipped(self) -> bool:
        """A reading, a move or a charge has moved it."""
        if self.need.met_at or not self.need.promised_on:
            return False
        return (self.chance_now or 0.0) < (self.need.promised_chance or 0.0) - SLIPPED


def wanted(needs: Iterable[Need], on: date, *, kept_only: bool = False) -> list[Wanted]:
    """Needs `with_lines`, each with what serves it on a day and the promise that can be given. `kept_only`: of what is
    kept for them alone, which is all that a promise rests on, and few stacks of however large a yard."""
    needs = list(needs)
    served = serve(needs, on, kept_for(needs) if kept_only else None)
    return [Wanted(need, served[need.pk], promise(served[need.pk], on)) for need in needs]


def slipped(on: date) -> list[Wanted]:
    """The open needs whose promised day has moved, with what is kept for them. One query where nothing is promised."""
    promised = list(Need.objects.open().exclude(promised_on=None).with_lines())
    return [one for one in wanted(promised, on, kept_only=True) if one.has_slipped] if promised else []
