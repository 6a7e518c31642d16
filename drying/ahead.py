"""The 21 nodes of each stack walked ahead, and what 512 members read off them: ready days and the moisture's band.

FRACTIONS here. Members differ in the rate, today's moisture, and the equilibrium they will meet, which is taken as a
shift of the target.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.special import ndtri
from scipy.stats.qmc import Sobol

from drying.departure import RATE_NODES, STATE_NODES, Departure
from drying.ranges import FloatArray
from drying.stacks import StackInput
from drying.walk import Walk, Whereabouts, stride_days

LONG_STRIDE_DAYS = 10.0  # once a stack is ready only the season moves it
LEAST_DAYS = 365.0  # every curve goes on so long at least
EQUILIBRIUM_BIAS, EQUILIBRIUM_SD = 0.003, 0.010
MEMBERS = 512
P10, P50, P90 = 51, 256, 460  # ranks among the members
JUMP_DAYS = 45.0  # neighbouring nodes further apart than this stand for two seasons: nothing lies between
TENTH = 1.2816
_FINE = np.linspace(-2.4, 2.4, 25)
_SHIFTS = np.array([-1.5, 0.0, 1.5])
MIDDLE = len(RATE_NODES) // 2 * len(STATE_NODES) + 1


def _members() -> FloatArray:
    """512 points of three independent standard normals, [3, 512]: the first points of Sobol's sequence, mid-cell."""
    points = Sobol(3, scramble=False).random_base2(9) + 0.5 / MEMBERS
    return ndtri(points.T)


_NORMALS = _members()
_TO_FINE = CubicSpline(RATE_NODES, np.eye(len(RATE_NODES)), bc_type="natural")(_FINE)


@dataclass(frozen=True, slots=True)
class Ahead:
    """Of S stacks: `day` [steps, S] after today, `average` [steps, S, 21]; ended stacks repeat their last row."""

    day: FloatArray
    average: FloatArray


def _pull(moisture: FloatArray, today: FloatArray, mean_equilibrium: FloatArray) -> FloatArray:
    """How far, 0..1, an error in the equilibrium has come through: 0 today, 1 when the stack is at equilibrium."""
    way = np.maximum(today - mean_equilibrium, 0.05)
    return np.clip(1 - (moisture - mean_equilibrium) / way, 0, 1)


def targets(target: FloatArray, today: FloatArray, mean_equilibrium: FloatArray) -> FloatArray:
    """The moisture, [3, S], at which the target counts as reached, for equilibrium errors of _SHIFTS deviations."""
    error = EQUILIBRIUM_BIAS + EQUILIBRIUM_SD * _SHIFTS[:, None]
    return target - error * _pull(target, today, mean_equilibrium)


def walk_ahead(
    stacks: Sequence[StackInput],
    where: Whereabouts,
    departure: Departure,
    today: FloatArray,
    driest: FloatArray,
    horizon_days: int,
) -> Ahead:
    """Walk the nodes from `today` [S] until all have reached `driest` [S] and a year is over, or to the horizon."""
    everyone = np.arange(len(stacks))
    boards, state = departure.nodes(stacks, where.air.equilibrium[where.rows(everyone, today)])
    begin = np.array([float(stack.start.toordinal()) for stack in stacks])
    walk = Walk(where, everyone, boards, state, today.copy())
    days, averages = [np.zeros(len(stacks))], [state.average]
    ready = np.zeros(len(stacks), dtype=bool)
    while len(walk.ids):
        ids = walk.ids
        ready[ids] |= (walk.state.average <= driest[ids, None]).all(1)
        ahead = walk.day - today[ids]
        going = (ahead < LEAST_DAYS) | ~ready[ids]
        going &= ahead < horizon_days
        if not going.all():
            walk.keep(going)
            continue
        stride = np.where(ready[ids], LONG_STRIDE_DAYS, stride_days(walk.day - begin[ids]))
        walk.advance(np.minimum(stride, horizon_days - ahead), np.full((len(ids), 1), np.inf))
        day, level = days[-1].copy(), averages[-1].copy()
        day[ids], level[ids] = walk.day - today[ids], walk.state.average
        days.append(day)
        averages.append(level)
    return Ahead(np.stack(days), np.stack(averages))


def crossing_days(ahead: Ahead, wanted: FloatArray) -> FloatArray:
    """Days until reached, [S, 25 rates, 3 states, 3 shifts], inf where not; curves are refined along the rate first."""
    steps, stacks, _ = ahead.average.shape
    curves = ahead.average.reshape(steps, stacks, len(RATE_NODES), len(STATE_NODES))
    fine = np.matmul(_TO_FINE, curves)
    lowest = np.minimum.accumulate(fine, 0)
    found = np.empty((stacks, len(_FINE), len(STATE_NODES), len(_SHIFTS)))
    for i, level in enumerate(wanted):
        index = (lowest > level[:, None, None]).sum(0)
        inside = np.clip(index, 1, steps - 1)
        before = np.take_along_axis(fine, inside[None] - 1, 0)[0]
        after = np.take_along_axis(fine, inside[None], 0)[0]
        first = ahead.day[inside - 1, np.arange(stacks)[:, None, None]]
        length = ahead.day[inside, np.arange(stacks)[:, None, None]] - first
        fall = np.maximum(before - after, 1e-9)
        day = first + length * np.clip((before - level[:, None, None]) / fall, 0, 1)
        found[..., i] = np.where(index == 0, 0.0, np.where(index == steps, np.inf, day))
    return found


def _located(values: FloatArray, nodes: FloatArray) -> tuple[np.ndarray, FloatArray]:
    cell = np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, len(nodes) - 2)
    return cell, (values - nodes[cell]) / (nodes[cell + 1] - nodes[cell])


def _corner_tables() -> tuple[np.ndarray, FloatArray, np.ndarray]:
    """For each member its 8 corners in the flat crossing table, their weights, and the nearest of them."""
    axes = [_located(z, nodes) for z, nodes in zip(_NORMALS, (_FINE, STATE_NODES, _SHIFTS), strict=True)]
    sizes = (len(_FINE), len(STATE_NODES), len(_SHIFTS))
    corners, weights = [], []
    for bits in np.ndindex(2, 2, 2):
        cells = [cell + bit for (cell, _), bit in zip(axes, bits, strict=True)]
        corners.append(np.ravel_multi_index(cells, sizes))
        weights.append(np.prod([share if bit else 1 - share for (_, share), bit in zip(axes, bits, strict=True)], 0))
    near = [np.clip(cell + np.rint(share), 0, size - 1) for (cell, share), size in zip(axes, sizes, strict=True)]
    return np.stack(corners), np.stack(weights), np.ravel_multi_index([n.astype(np.intp) for n in near], sizes)


_CORNERS, _CORNER_WEIGHTS, _NEAREST = _corner_tables()


def member_days(crossings: FloatArray) -> FloatArray:
    """Sorted days until ready of the members, [S, 512], inf where not within the horizon."""
    flat = crossings.reshape(len(crossings), -1)
    low = high = flat[:, _CORNERS[0]]
    total = np.zeros_like(low)
    for corner, weight in zip(_CORNERS, _CORNER_WEIGHTS, strict=True):
        value = flat[:, corner]
        low, high = np.minimum(low, value), np.maximum(high, value)
        total += weight * np.where(np.isfinite(value), value, 0)
    nearest = flat[:, _NEAREST]
    with np.errstate(invalid="ignore"):
        smooth = high - low <= JUMP_DAYS
    days = np.where(smooth, np.maximum(total, 0), nearest)
    return np.sort(days, axis=1)


def band(ahead: Ahead, today: FloatArray, mean_equilibrium: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """P10, P50 and P90 of the stack's moisture, each [steps, S].

    Root of the sum of the squares of the one-sided effects of rate, state and equilibrium: within about 0.3 points of
    the members' own quantiles (measured in tests/drying/test_forecast.py).
    """
    middle = ahead.average[..., MIDDLE]
    fast, slow = ahead.average[..., _node(1.2)], ahead.average[..., _node(-1.2)]
    dry, wet = ahead.average[..., MIDDLE - 1], ahead.average[..., MIDDLE + 1]
    pull = _pull(middle, today, mean_equilibrium)
    p50 = middle + EQUILIBRIUM_BIAS * pull
    shift = TENTH * EQUILIBRIUM_SD * pull
    below = np.sqrt(((middle - fast) * TENTH / 1.2) ** 2 + ((middle - dry) * TENTH / 1.3) ** 2 + shift**2)
    above = np.sqrt(((slow - middle) * TENTH / 1.2) ** 2 + ((wet - middle) * TENTH / 1.3) ** 2 + shift**2)
    return p50 - below, p50, p50 + above


def _node(rate: float) -> int:
    return int(np.flatnonzero(rate == RATE_NODES)[0]) * len(STATE_NODES) + 1
