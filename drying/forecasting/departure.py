"""From what was learned to where the forecast sets out: today's moisture and the rate ahead, with their joint spread.

The uncertain state of a stack is reduced to two numbers, the rate ahead (its logarithm) and today's mean moisture,
taken as jointly normal; both are spread over 13 nodes that are simulated ahead. FRACTIONS here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.climate import EFFECTS
from drying.diffusion import YARD_TRANSFER_M_S, Boards, State, average
from drying.forecasting.calibrate import (
    GRID,
    NORMAL_TENTH,
    SURFACE_LOG_SD,
    TENTH,
    History,
    Posterior,
    Priors,
    Readings,
    boards_of,
    grid_spread,
)
from drying.forecasting.reading_error import (
    BOARD_RATE_LOG_SD,
    BOARD_STATE_LOG_SD,
    ERRORS,
    METHODS,
    WEATHER_LOG_SD,
    discrepancy,
    noise_and_bias,
)
from drying.forecasting.stacks import StackInput
from drying.ranges import FloatArray

RATE_NODES = np.array([-2.0, -1.2, -0.5, 0.0, 0.5, 1.2, 2.0])  # deviations, at the middle state
STATE_NODES = np.array([-1.3, 0.0, 1.3])
SIDE_RATES = np.array([-1.8, 0.0, 1.8])  # the outer states are followed at these rates only
NODES = np.array([(u, 0.0) for u in RATE_NODES] + [(u, v) for v in STATE_NODES[::2] for u in SIDE_RATES])
# How far the rate ahead strays from the past's (weather, wind, season, and a course of another shape than the model's),
# from a wet and from a drier stack, as far as the past's is known at all; and what is added in any case.
WET_SEASON_LOG_SD, SEASON_LOG_SD, FIRST_SEASON_LOG_SD = 0.34, 0.28, 0.10
WET_START = 0.30
FADES = 0.5  # the boards' unlike rates part their moistures so much less than an exponential course would
DRIEST = 0.03
_BOARDS = np.array([ERRORS[method].boards for method in METHODS])


@dataclass(frozen=True, slots=True)
class Departure:
    """Of S stacks: ln rate ahead, today's moisture (mean, sd), their covariance, the surface's factor (its logarithm
    over its sd), what the readings say of the past's rate, and the profile and surface of the mean moisture."""

    rate_log: FloatArray
    rate_log_sd: FloatArray
    moisture: FloatArray
    moisture_sd: FloatArray
    covariance: FloatArray
    surface_z: FloatArray
    learned_log: FloatArray
    learned_log_sd: FloatArray
    profile: FloatArray
    surface: FloatArray

    def lean(self) -> FloatArray:
        """What ln(rate) of the NODES, [S, 13], changes by while the weather is known: it strays the less."""
        known = np.sqrt(self.rate_log_sd**2 - np.minimum(WEATHER_LOG_SD, 0.5 * self.rate_log_sd) ** 2)
        return (known - self.rate_log_sd)[:, None] * NODES[:, 0]

    def nodes(self, stacks: Sequence[StackInput], equilibrium: FloatArray) -> tuple[Boards, State]:
        """Boards and state of each stack's NODES; `equilibrium` [S] of today's air."""
        u, v = NODES.T
        rate = np.exp(self.rate_log[:, None] + self.rate_log_sd[:, None] * u)
        transfer = np.exp(SURFACE_LOG_SD * self.surface_z[:, None]) * YARD_TRANSFER_M_S
        boards = boards_of(stacks, rate, np.broadcast_to(transfer, rate.shape))
        slope = self.covariance / self.rate_log_sd
        left = np.sqrt(np.maximum(self.moisture_sd**2 - slope**2, 1e-10))
        wanted = self.moisture[:, None] + slope[:, None] * u + left[:, None] * v
        return boards, self._state(np.maximum(wanted, DRIEST), equilibrium[:, None], boards.widths)

    def _state(self, wanted: FloatArray, equilibrium: FloatArray, widths: FloatArray) -> State:
        """The mean profile drawn towards or away from equilibrium until it has the wanted average."""
        now = average(self.profile, widths)[:, None]
        above = now - equilibrium
        ratio = np.where(above > 0.02, (wanted - equilibrium) / np.where(above > 0.02, above, 1), 1.0)
        ratio = np.clip(ratio, 0.3, 2.0)
        profile = equilibrium + (self.profile[:, :, None] - equilibrium) * ratio
        shift = wanted - average(profile, widths)
        profile = np.maximum(profile + shift, DRIEST)
        surface = equilibrium + (self.surface[:, None] - equilibrium) * ratio
        return State(profile, np.maximum(surface, DRIEST), average(profile, widths))


def from_start(stacks: Sequence[StackInput], priors: Priors, cells: int) -> Departure:
    """Stacks without a reading set out on their first day, green, with what is known beforehand."""
    still = np.zeros(len(stacks))
    level = priors.initial
    return Departure(
        rate_log=priors.rate_log,
        rate_log_sd=np.hypot(priors.rate_log_sd * TENTH / NORMAL_TENTH, FIRST_SEASON_LOG_SD),
        moisture=level,
        moisture_sd=level * priors.initial_log_sd,
        covariance=still,
        surface_z=still,
        learned_log=priors.rate_log,
        learned_log_sd=priors.rate_log_sd,
        profile=np.repeat(level[None], cells, 0),
        surface=level,
    )


@dataclass(frozen=True, slots=True)
class _LastVisit:
    """The readings of the last day taken as one: mean by weight, its variance, number of weighed boards (0: none)."""

    moisture: FloatArray
    variance: FloatArray
    boards: FloatArray

    @classmethod
    def of(cls, readings: Readings, doubt: FloatArray, today: FloatArray, model: FloatArray) -> "_LastVisit":
        noise, bias = noise_and_bias(readings.method, readings.count, model[:, None])
        last = readings.day == today[:, None]
        weight = np.where(last, 1 / (noise * doubt + bias**2), 0.0)
        total = weight.sum(1)
        boards = np.where(last & _BOARDS[readings.method], readings.count, 0).max(1)
        return cls((weight * readings.moisture).sum(1) / total, 1 / total, boards)


def _change_of_exposure(stacks: Sequence[StackInput]) -> FloatArray:
    """Log spread that a stack's move to another exposure adds after the readings."""
    spread = np.zeros(len(stacks))
    for i, stack in enumerate(stacks):
        there = [stay.exposure for stay in stack.stays if stay.start <= stack.as_of][-1]
        if stack.stays[-1].exposure != there:
            spread[i] = max(EFFECTS[there].rate_log_sd, EFFECTS[stack.stays[-1].exposure].rate_log_sd)
    return spread


def from_readings(
    stacks: Sequence[StackInput],
    priors: Priors,
    readings: Readings,
    history: History,
    posterior: Posterior,
    equilibrium: FloatArray,
) -> Departure:
    """Stacks with readings set out on the day of the last one.

    The model's moisture of that day is drawn towards the reading as far as the model's own error allows, and both rate
    and moisture are widened where only a few weighed boards speak for the stack.
    """
    mean_z = posterior.mean(GRID[:, 0])
    z, z_sd = posterior.rate_z()
    narrower = z_sd / np.sqrt(posterior.mean(GRID[:, 0] ** 2) - mean_z**2)
    today = history.day[-1]
    model = history.average[-1] @ grid_spread().T
    level = posterior.mean(model)
    level_var = np.maximum(posterior.mean(model**2) - level**2, 0)
    with_rate = (posterior.mean(model * GRID[:, 0]) - level * mean_z) * priors.rate_log_sd * narrower
    visit = _LastVisit.of(readings, posterior.doubt, today, level)
    last = np.isfinite(readings.day).sum(1) - 1
    own = discrepancy(priors.initial, level, history.observed[np.arange(len(stacks)), last]) ** 2
    gain = own / (own + visit.variance)
    moisture = level + gain * (visit.moisture - level)
    few = np.where(visit.boards > 0, 1 / np.maximum(visit.boards, 1), 0.0)
    lead = np.maximum(moisture - equilibrium, 0.0)
    dried = np.log(np.maximum(priors.initial - equilibrium, 0.02) / np.maximum(lead, 0.02))
    dried = FADES * np.maximum(dried, 0.0)
    boards_var = BOARD_RATE_LOG_SD**2 * few
    state_var = (1 - gain) ** 2 * level_var + gain * visit.variance
    state_var += lead**2 * (dried**2 * boards_var + BOARD_STATE_LOG_SD**2 * few)
    known = np.clip(1 - (z_sd * NORMAL_TENTH / TENTH) ** 2, 0, 1)
    season = np.where(visit.moisture > WET_START, WET_SEASON_LOG_SD, SEASON_LOG_SD)
    season_var = FIRST_SEASON_LOG_SD**2 + season**2 * known
    learned_var = (priors.rate_log_sd * z_sd) ** 2
    spread = np.sqrt(learned_var + boards_var + season_var + _change_of_exposure(stacks) ** 2)
    rate_log = priors.rate_log + priors.rate_log_sd * z
    share = posterior.weights @ grid_spread()
    return Departure(
        rate_log=rate_log,
        rate_log_sd=spread,
        moisture=moisture,
        moisture_sd=np.sqrt(state_var),
        covariance=(1 - gain) * with_rate - lead * dried * boards_var,
        surface_z=posterior.mean(GRID[:, 1]),
        learned_log=rate_log,
        learned_log_sd=np.sqrt(learned_var),
        profile=(history.profile * share).sum(-1),
        surface=(history.surface * share).sum(-1),
    )
