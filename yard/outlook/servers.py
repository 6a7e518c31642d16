"""Stacks that could serve a need's line: one by itself, and all of a yard as columns."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import erf, sqrt
from typing import Any

import numpy as np

from yard.outlook.columns import Columns, LightStack
from yard.outlook.curves import NO_DAY

P90_SIGMAS = 1.2815515655446004  # of the normal distribution
Days = tuple[date, date]
"""The day that it is as likely before as after, and the one it is done by nine times in ten."""


@dataclass(frozen=True, slots=True)
class Server:
    """A stack that could serve a line. `days` None: nobody can say when it is dry enough; `by_kiln`: a charge says it.

    `kept_m3` is reserved for this line, of it `sawn_m3` sawn to its size, which is `sawn_for` in the line's unit;
    `kept_else_m3` for others; `free_m3` the rest; all of green volume.
    """

    stack: LightStack
    dry_mm: float | None
    is_dry: bool
    days: Days | None
    by_kiln: bool
    kept_m3: float
    sawn_m3: float
    sawn_for: float
    kept_else_m3: float
    free_m3: float

    def chance(self, day: date) -> float:
        """That it is dry enough by then: normal about the middle day, as wide as its P90 says."""
        return 1.0 if self.is_dry else _chance(self.days, day)


@dataclass(slots=True)
class Servers:
    """The stacks that could serve a line as columns: `at` their places in the yard's, the nearest first, the first
    `dry` of them dry enough. `dry_mm` NaN where the wood's shrinkage is not known; days NO_DAY where nobody can say."""

    yard: Columns
    at: Any
    dry: int
    dry_mm: Any
    middle: Any
    late: Any
    by_kiln: Any
    kept_m3: Any
    sawn_m3: Any
    sawn_for: Any
    kept_else_m3: Any
    free_m3: Any

    def __len__(self) -> int:
        return len(self.at)

    def one(self, number: int) -> Server:
        thick = float(self.dry_mm[number])
        middle, late = int(self.middle[number]), int(self.late[number])
        columns = (self.kept_m3, self.sawn_m3, self.sawn_for, self.kept_else_m3, self.free_m3)
        return Server(
            self.yard.light(int(self.at[number])),
            None if np.isnan(thick) else thick,
            number < self.dry,
            None if middle == NO_DAY else (date.fromordinal(middle), date.fromordinal(late)),
            bool(self.by_kiln[number]),
            *(float(column[number]) for column in columns),
        )

    def some(self, numbers: Iterable[int]) -> list[Server]:
        return [self.one(number) for number in numbers]


def _chance(days: Days | None, day: date) -> float:
    if days is None:
        return 0.0
    spread = max((days[1] - days[0]).days, 1) / P90_SIGMAS
    return 0.5 * (1 + erf(((day - days[0]).days + 0.5) / spread / sqrt(2)))
