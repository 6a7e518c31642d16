"""One stack followed day by day with every parameter given: for notebooks, demonstrations and checks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from drying.diffusion import THICK_MM, YARD_TRANSFER_M_S, Wood, start
from drying.forecasting.calibrate import boards_of
from drying.forecasting.stacks import StackInput, Stay
from drying.forecasting.walk import FRESH_DAYS, Walk, Whereabouts


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
    known = wood if rate is None else replace(wood, rate=rate)
    stack = StackInput("", known, thickness_mm, begin, initial_moisture_pct, 0.0, tuple(stays), (), 20.0)
    return simulate_all([stack], days=days, surface_factor=surface_factor)[0]


def simulate_all(stacks: Sequence[StackInput], *, days: int = 730, surface_factor: float = 1.0) -> list[Course]:
    """The median course of each stack from its start, its readings left aside; `simulate` for many at once.

    Raises ValueError when thin and thick stacks (over 50 mm, which are cut into more cells) are mixed.
    """
    if len({stack.thickness_mm > THICK_MM for stack in stacks}) > 1:
        raise ValueError(f"stacks thinner and thicker than {THICK_MM:g} mm cannot be followed together")
    rate = np.array([[stack.wood.rate * np.exp(stack.rate_log_shift)] for stack in stacks])
    boards = boards_of(stacks, rate, np.full(rate.shape, surface_factor * YARD_TRANSFER_M_S))
    state = start(boards, np.array([[stack.initial_moisture_pct / 100] for stack in stacks]))
    first = np.array([float(stack.start.toordinal()) for stack in stacks])
    end = first + days
    walk = Walk(Whereabouts.of(stacks, days), np.arange(len(stacks)), boards, state, first, 0)
    followed, moisture = [first], [walk.state.average[:, 0]]
    while (walk.day < end).any():
        stride = np.where(walk.day - first < FRESH_DAYS, 0.25, 1.0)
        walk.advance(np.minimum(stride, end - walk.day), end[:, None])
        followed.append(walk.day)
        moisture.append(walk.state.average[:, 0])
    table, percent = np.stack(followed, 1), 100.0 * np.stack(moisture, 1)
    return [Course(tuple(a.tolist()), tuple(b.tolist())) for a, b in zip(table, percent, strict=True)]
