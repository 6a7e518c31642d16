"""One stack followed day by day with every parameter given: for notebooks, demonstrations and checks."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from drying.calibrate import boards_of
from drying.diffusion import YARD_TRANSFER_M_S, Wood, start
from drying.stacks import StackInput, Stay
from drying.walk import FRESH_DAYS, Walk, Whereabouts


@dataclass(frozen=True, slots=True)
class Course:
    """The stack's mean moisture, %, at the end of each step; `days` are ordinals with fractions, the start first."""

    days: tuple[float, ...]
    moisture_pct: tuple[float, ...]

    def on(self, day: date) -> float:
        """Moisture, %, at the beginning of a day; before and after the course its end values."""
        return float(np.interp(day.toordinal(), self.days, self.moisture_pct))

    def day_reaching(self, target_pct: float) -> float | None:
        """Days from the start until the moisture first is at or below the target; None if it never is."""
        moisture = np.array(self.moisture_pct)
        below = np.flatnonzero(moisture <= target_pct)
        if not len(below):
            return None
        k = int(below[0])
        if k == 0:
            return 0.0
        share = (moisture[k - 1] - target_pct) / (moisture[k - 1] - moisture[k])
        return float(self.days[k - 1] + share * (self.days[k] - self.days[k - 1]) - self.days[0])


def simulate(
    wood: Wood,
    thickness_mm: float,
    begin: date,
    initial_moisture_pct: float,
    stays: Sequence[Stay],
    *,
    days: int = 730,
    rate: float | None = None,
    surface_factor: float = 1.0,
) -> Course:
    """Follow one stack for `days`: quarter-day steps for three days, then daily.

    `rate` stands in for the wood's median, `surface_factor` multiplies the surface's mass transfer. Raises ValueError
    as `StackInput` does.
    """
    stack = StackInput("", wood, thickness_mm, begin, initial_moisture_pct, 0.0, tuple(stays), (), 20.0)
    factor = np.array([[wood.rate if rate is None else rate]])
    boards = boards_of([stack], factor, np.array([[surface_factor * YARD_TRANSFER_M_S]]))
    first = np.array([float(begin.toordinal())])
    end = (begin + timedelta(days=days)).toordinal()
    state = start(boards, np.array([[initial_moisture_pct / 100]]))
    walk = Walk(Whereabouts.of([stack], days), np.array([0]), boards, state, first, 0)
    found = [(first[0], initial_moisture_pct)]
    while walk.day[0] < end:
        stride = np.where(walk.day - first < FRESH_DAYS, 0.25, 1.0)
        walk.advance(stride, np.array([[float(end)]]))
        found.append((walk.day[0], 100 * walk.state.average[0, 0]))
    return Course(tuple(float(day) for day, _ in found), tuple(float(moisture) for _, moisture in found))
