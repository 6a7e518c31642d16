"""Stacks that are forecast together: past, departure and the way ahead, as arrays. FRACTIONS here, days as ordinals."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.climate import EFFECTS
from drying.diffusion import EIGHT_CELLS, SIX_CELLS, THICK_MM
from drying.forecasting import ahead, members
from drying.forecasting.calibrate import History, Posterior, Priors, Readings, grid_spread, learn, simulate_past
from drying.forecasting.departure import Departure, from_readings, from_start
from drying.forecasting.stacks import StackInput
from drying.forecasting.walk import Whereabouts
from drying.ranges import FloatArray

MARGIN = 0.01  # a target must lie this far above the lowest equilibrium ahead
SETTLED = 0.02  # a stack with a target below that is followed until it is this near
PAST_POINTS = 16


@dataclass(frozen=True, slots=True)
class Past:
    """Moisture so far of S stacks at PAST_POINTS days each: ordinals, mean and standard deviation."""

    day: FloatArray
    mean: FloatArray
    sd: FloatArray

    @classmethod
    def of(cls, history: History, posterior: Posterior, departure: Departure, readings: Readings) -> "Past":
        """The posterior's moisture, led over to today's (which leans to the last reading) from the reading before."""
        begin, end = history.day[0], history.day[-1]
        wanted = begin[:, None] + (end - begin)[:, None] * np.linspace(0, 1, PAST_POINTS)
        index = (history.day[:, :, None] <= wanted).sum(0) - 1
        stack = np.arange(len(begin))[:, None]
        day = history.day[index, stack]
        model = history.average[index, stack] @ grid_spread().T
        weights = posterior.weights[:, None]
        mean = (weights * model).sum(-1)
        variance = np.maximum((weights * model**2).sum(-1) - mean**2, 0)
        before = np.where(readings.day < end[:, None], readings.day, -np.inf).max(1)
        before = np.maximum(before, begin)[:, None]
        share = np.clip((day - before) / np.maximum(end[:, None] - before, 1), 0, 1)
        last_mean, last_variance = mean[:, -1:], variance[:, -1:]
        mean = mean + share * (departure.moisture[:, None] - last_mean)
        variance = variance + share * (departure.moisture_sd[:, None] ** 2 - last_variance)
        return cls(day, mean, np.sqrt(np.maximum(variance, 0)))


@dataclass(frozen=True, slots=True)
class Outcome:
    """Of S stacks, all with or all without readings: what was learned, the way ahead, and the members' ready days.

    today [S]; walked: days and nodes ahead; low, middle, high [steps, S]: the band; reachable, never [S].
    """

    today: FloatArray
    readings: Readings
    departure: Departure
    posterior: Posterior | None
    past: Past | None
    walked: ahead.Ahead
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    reachable: FloatArray
    never: np.ndarray


def _departed(
    stacks: Sequence[StackInput], where: Whereabouts, readings: Readings, today: FloatArray
) -> tuple[Departure, Posterior | None, Past | None]:
    first = [[stay.exposure for stay in stack.stays if stay.start <= stack.start][-1] for stack in stacks]
    priors = Priors.of(stacks, np.array([EFFECTS[exposure].rate_log_sd for exposure in first]))
    if not stacks[0].readings:
        thick = stacks[0].thickness_mm > THICK_MM
        return from_start(stacks, priors, len(EIGHT_CELLS if thick else SIX_CELLS)), None, None
    history = simulate_past(stacks, where, priors, readings)
    posterior = learn(priors, readings, history)
    equilibrium = where.air.equilibrium[where.rows(np.arange(len(stacks)), today)]
    departure = from_readings(stacks, priors, readings, history, posterior, equilibrium)
    return departure, posterior, Past.of(history, posterior, departure, readings)


def run(stacks: Sequence[StackInput], horizon_days: int) -> Outcome:
    """Forecast stacks that all have readings or all have none, all thinner or all thicker than THICK_MM."""
    where = Whereabouts.of(stacks, horizon_days)
    readings = Readings.of(stacks)
    today = np.array([float(stack.as_of.toordinal()) for stack in stacks])
    departure, posterior, past = _departed(stacks, where, readings, today)
    years = where.years[where.places[:, -1]]
    reachable, usual = years.min(1), years.mean(1)
    target = np.array([stack.target_pct / 100 for stack in stacks])
    never = target < reachable + MARGIN
    wanted = members.targets(np.where(never, reachable + SETTLED, target), departure.moisture, usual)
    walked = ahead.walk_ahead(stacks, where, departure, today, wanted, horizon_days)
    low, middle, high = ahead.band(walked, departure.moisture, usual)
    return Outcome(today, readings, departure, posterior, past, walked, low, middle, high, reachable, never)
