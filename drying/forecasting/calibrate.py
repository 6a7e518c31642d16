"""What the readings teach: Bayes on a grid over the rate, the surface's share and the initial moisture. FRACTIONS here.

153 grid points a stack (17 rates x 3 surface factors x 3 initial moistures). 30 are simulated: at five rates and the
two outer first moistures; a spline leads along the rate, a straight line along the first moisture;
tests/drying/test_forecast_accuracy.py measures it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
import scipy

from drying.diffusion import EIGHT_CELLS, SIX_CELLS, THICK_MM, YARD_TRANSFER_M_S, Boards, start
from drying.forecasting.reading_error import METHODS, believed, discrepancy, noise_and_bias
from drying.forecasting.stacks import StackInput
from drying.forecasting.walk import Walk, Whereabouts, replaced, stride_days
from drying.ranges import FloatArray

SURFACE_LOG_SD = 0.7
UNEXPECTED = 3.0  # standard deviations
NORMAL_TENTH = 1.2816  # standard deviations from a normal's middle to its tenth
RATES = np.linspace(-3.2, 3.2, 17)
TAIL = 4.0  # degrees of freedom of the rate's prior, a Student t: a book's figure is mostly near, at times far off
_SCALE = np.sqrt((TAIL - 2) / TAIL)  # its spread is given as its standard deviation
TENTH = 1.5332062740589 * _SCALE  # of it lie a tenth of the rates above, a tenth below
# Student's 90 % point for TAIL degrees of freedom as scipy.stats.t has it, which tests/drying/test_learning.py asks.
_SURFACES, _SURFACE_WEIGHTS = (-1.22, 0.0, 1.22), (0.25, 0.5, 0.25)
_INITIALS = (-1.3, 0.0, 1.3)
_CENTRES = (-3.2, -1.4, 0.0, 1.4, 3.2)

GRID = np.array(list(product(RATES, _SURFACES, _INITIALS)))
SIMULATED = np.array(list(product(_CENTRES, _SURFACES, _INITIALS[::2])))
MIDDLE = len(SIMULATED) // 2
_LOG_PRIOR = np.array(
    [
        np.log(w) - m**2 / 2 - (TAIL + 1) / 2 * np.log1p((z / _SCALE) ** 2 / TAIL)
        for z, w, m in product(RATES, _SURFACE_WEIGHTS, _INITIALS)
    ]
)


@cache
def grid_spread() -> FloatArray:
    """[153, 30], from simulated to grid points: a spline along the rate, a straight line along the first moisture."""
    rate = scipy.interpolate.CubicSpline(_CENTRES, np.eye(len(_CENTRES)))(RATES)
    initial = np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]])
    return np.kron(rate, np.kron(np.eye(len(_SURFACES)), initial))


@dataclass(frozen=True, slots=True)
class Readings:
    """The readings of S stacks, in order of time, padded: days (ordinals, none: inf), fractions as `believed`, method,
    boards."""

    day: FloatArray
    moisture: FloatArray
    method: np.ndarray
    count: FloatArray
    order: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, stacks: Sequence[StackInput]) -> "Readings":
        """`order[s]` are the stack's own indices of its readings."""
        most = max(len(stack.readings) for stack in stacks)
        shape = (len(stacks), most)
        day, moisture, count = np.full(shape, np.inf), np.zeros(shape), np.ones(shape)
        method = np.zeros(shape, dtype=np.intp)
        orders = []
        for i, stack in enumerate(stacks):
            order = sorted(range(len(stack.readings)), key=lambda j: stack.readings[j].taken_on)
            orders.append(tuple(order))
            for j, index in enumerate(order):
                reading = stack.readings[index]
                day[i, j], moisture[i, j] = reading.taken_on.toordinal(), reading.moisture_pct / 100
                method[i, j], count[i, j] = METHODS.index(reading.method), reading.count
        return cls(day, believed(method, moisture), method, count, tuple(orders))


@dataclass(frozen=True, slots=True)
class Priors:
    """Of S stacks: ln of the median rate and its spread, initial moisture (fraction) and its log spread."""

    rate_log: FloatArray
    rate_log_sd: FloatArray
    initial: FloatArray
    initial_log_sd: FloatArray

    @classmethod
    def of(cls, stacks: Sequence[StackInput], exposure_log_sd: FloatArray) -> "Priors":
        """The wood's own rate moved by what the yard has learned; the spread it left, or the book's and exposure's."""
        rate_log = np.array([np.log(stack.wood.rate) + stack.rate_log_shift for stack in stacks])
        book = np.hypot([stack.wood.rate_log_sd for stack in stacks], exposure_log_sd)
        learned = [np.nan if stack.rate_log_sd is None else stack.rate_log_sd for stack in stacks]
        spread = np.where(np.isnan(learned), book, learned)
        initial = np.array([stack.initial_moisture_pct / 100 for stack in stacks])
        return cls(rate_log, spread, initial, np.array([stack.initial_log_sd for stack in stacks]))


def boards_of(stacks: Sequence[StackInput], rate: FloatArray, transfer_m_s: FloatArray) -> Boards:
    """Boards of S stacks with some trajectories each; all thinner or all thicker than THICK_MM."""
    thickness = np.array([[stack.thickness_mm] for stack in stacks])
    return Boards(
        half_thickness_m=thickness / 2000,
        specific_gravity=np.array([[stack.wood.basic_density_kg_m3 / 1000] for stack in stacks]),
        permeability=np.array([[stack.wood.permeability] for stack in stacks]),
        rate=rate,
        transfer_m_s=transfer_m_s,
        widths=EIGHT_CELLS if thickness.max() > THICK_MM else SIX_CELLS,
    )


@dataclass(frozen=True, slots=True)
class History:
    """The simulated past of S stacks: `day` [steps, S], `average` [steps, S, 30]; the last `profile` [cells, S, 30];
    `observed` [S, readings]: the share of the days before each reading that lay in a weather log."""

    day: FloatArray
    average: FloatArray
    profile: FloatArray
    surface: FloatArray
    at_readings: FloatArray
    observed: FloatArray


def simulate_past(stacks: Sequence[StackInput], where: Whereabouts, priors: Priors, readings: Readings) -> History:
    """Walk the 30 trajectories of each stack from its start to its last reading."""
    z, surface, initial = SIMULATED.T
    rate = np.exp(priors.rate_log[:, None] + priors.rate_log_sd[:, None] * z)
    transfer = np.broadcast_to(YARD_TRANSFER_M_S * np.exp(SURFACE_LOG_SD * surface), rate.shape)
    boards = boards_of(stacks, rate, transfer)
    state = start(boards, priors.initial[:, None] * np.exp(priors.initial_log_sd[:, None] * initial))
    begin = np.array([float(stack.start.toordinal()) for stack in stacks])
    end = np.array([float(stack.as_of.toordinal()) for stack in stacks])
    walk = Walk(where, np.arange(len(stacks)), boards, state, begin, MIDDLE)
    days, averages = [begin], [state.average]
    profile, face = state.profile.copy(), state.surface.copy()
    at_readings, observed = np.zeros((*readings.day.shape, len(SIMULATED))), np.zeros(readings.day.shape)
    while len(walk.ids):
        ids, day = walk.ids, walk.day
        row, column = np.nonzero(readings.day[ids] == day[:, None])
        at_readings[ids[row], column] = walk.state.average[row]
        observed[ids[row], column] = (walk.observed_days / np.maximum(day - begin[ids], 1))[row]
        going = day < end[ids]
        if not going.all():
            profile[:, ids], face[ids] = walk.state.profile, walk.state.surface
            walk.keep(going)
            continue
        stride = stride_days(day - begin[ids], walk.loss_per_day)
        walk.advance(np.minimum(stride, end[ids] - day), readings.day[ids])
        days.append(replaced(days[-1], ids, walk.day))
        averages.append(replaced(averages[-1], ids, walk.state.average))
    return History(np.stack(days), np.stack(averages), profile, face, at_readings, observed)


@dataclass(frozen=True, slots=True)
class Posterior:
    """Weights [S, 153] on GRID after all readings; per reading [S, n] its surprise (standard deviations) and the factor
    by which an unexpected one's variance was raised."""

    weights: FloatArray
    surprise: FloatArray
    doubt: FloatArray

    def mean(self, values: FloatArray) -> FloatArray:
        """Posterior mean over the grid (last axis)."""
        return (self.weights * values).sum(-1)

    def rate_z(self) -> tuple[FloatArray, FloatArray]:
        """Median of the rate's deviate and a tenth-to-nine-tenths range of it in terms of a normal's sd, each [S]."""
        share = self.weights.reshape(len(self.weights), len(RATES), -1).sum(-1)
        low, middle, high = (_quantile(share, at) for at in (0.1, 0.5, 0.9))
        return middle, (high - low) / (2 * NORMAL_TENTH)


def _quantile(share: FloatArray, at: float) -> FloatArray:
    """Of distributions [S, rates] that are even about each of RATES."""
    below = np.cumsum(share, 1)
    cell = (below < at).sum(1)
    row = np.arange(len(share))
    inside = (at - below[row, cell]) / np.maximum(share[row, cell], 1e-12) + 1
    return RATES[cell] + (inside - 0.5) * (RATES[1] - RATES[0])


def _weights(log_likelihood: FloatArray) -> FloatArray:
    logs = _LOG_PRIOR + log_likelihood
    weights = np.exp(logs - logs.max(-1, keepdims=True))
    return weights / weights.sum(-1, keepdims=True)


def learn(priors: Priors, readings: Readings, history: History) -> Posterior:
    """Update by the readings in order of time, each with its method's noise, a bias common to all, and the model's own.

    A reading more than three standard deviations from what was expected counts with its variance raised until it is
    three: it may be another stack's, and the person is asked.
    """
    model = history.at_readings @ grid_spread().T
    initial = priors.initial[:, None] * np.exp(priors.initial_log_sd[:, None] * GRID[:, 2])
    shape = readings.day.shape
    surprise, doubt = np.zeros(shape), np.ones(shape)
    miss, cross, bias_sum, logs = (np.zeros((shape[0], len(GRID))) for _ in range(4))
    weights = _weights(np.zeros((shape[0], len(GRID))))
    for i in range(shape[1]):
        there = np.isfinite(readings.day[:, i])[:, None]
        at = model[:, i]
        noise, bias = noise_and_bias(readings.method[:, i, None], readings.count[:, i, None], at)
        variance = noise + discrepancy(initial, at, history.observed[:, i, None]) ** 2
        error = readings.moisture[:, i, None] - at
        off = (weights * error).sum(-1)
        spread = (weights * (error**2 + variance + bias**2)).sum(-1) - off**2
        surprise[:, i] = np.where(there[:, 0], off / np.sqrt(spread), 0)
        doubt[:, i] = np.maximum(np.abs(surprise[:, i]) / UNEXPECTED, 1) ** 2
        variance = variance * doubt[:, i, None]
        miss += np.where(there, error**2 / variance, 0)
        cross += np.where(there, error * bias / variance, 0)
        bias_sum += np.where(there, bias**2 / variance, 0)
        logs += np.where(there, np.log(variance), 0)
        weights = _weights(-(miss - cross**2 / (1 + bias_sum) + logs + np.log1p(bias_sum)) / 2)
    return Posterior(weights, surprise, doubt)
