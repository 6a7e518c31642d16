"""Ready days: when each of many possible courses of a stack first reaches its target, and what 512 members make of it.

FRACTIONS here. Members differ in the rate, today's moisture and the equilibrium they will meet; the last is taken as a
shift of the target.
"""

from functools import cache

import numpy as np
import scipy
from numpy.typing import NDArray

from drying.forecasting.departure import RATE_NODES, SIDE_RATES, STATE_NODES
from drying.ranges import FloatArray

MEMBERS = 512
P10, P50, P90 = 51, 256, 460  # ranks among the members
JUMP_DAYS = 45.0  # neighbouring courses further apart than this stand for two seasons: nothing lies between
# What the air makes of the wood above its mean air's equilibrium: that of changing air is higher, by 0.5 to 2.5 points
# in damp months (typical-year weather, computed); the lower end of it is taken.
EQUILIBRIUM_BIAS, EQUILIBRIUM_SD = 0.006, 0.010
_FINE = np.linspace(-2.4, 2.4, 17)
_SHIFTS = np.array([-1.5, 0.0, 1.5])
_SHAPE = (len(_SHIFTS), len(STATE_NODES), len(_FINE))
_CELLS = int(np.prod(_SHAPE))


@cache
def _refinement() -> NDArray[np.float32]:
    """Matrix [13 nodes, 3 states x 17 rates]: a spline along the rate, plus the outer states' effect by a parabola."""
    spline = scipy.interpolate.CubicSpline(RATE_NODES, np.eye(len(RATE_NODES)), bc_type="natural")
    side = scipy.interpolate.BarycentricInterpolator(SIDE_RATES, np.eye(len(SIDE_RATES)))(_FINE)
    middle = spline(_FINE)
    matrix = np.zeros((3, len(_FINE), 13))
    matrix[:, :, :7] = middle
    for state, first in ((0, 7), (2, 10)):
        matrix[state, :, first : first + 3] += side
        matrix[state, :, :7] -= side @ spline(SIDE_RATES)
    return matrix.reshape(-1, 13).T.astype(np.float32)


def pull(moisture: FloatArray, today: FloatArray, mean_equilibrium: FloatArray) -> FloatArray:
    """How far, 0..1, an error in the equilibrium has come through: 0 today, 1 when the stack is at equilibrium."""
    way = np.maximum(today - mean_equilibrium, 0.05)
    return np.clip(1 - (moisture - mean_equilibrium) / way, 0, 1)


def targets(target: FloatArray, today: FloatArray, mean_equilibrium: FloatArray) -> FloatArray:
    """The moisture, [S, 3], at which the target counts as reached, the equilibrium being -1.5, 0, 1.5 sd off."""
    error = EQUILIBRIUM_BIAS + EQUILIBRIUM_SD * _SHIFTS
    return target[:, None] - error * pull(target, today, mean_equilibrium)[:, None]


class Crossings:
    """First days, from today, on which the courses of S stacks reach their targets; fed step by step.

    Moisture is refined along the rate before it is compared, so that a season's standstill stays one.
    """

    def __init__(self, wanted: FloatArray, average: FloatArray) -> None:
        """`wanted` [S, 3 shifts], `average` [S, 13 nodes] today."""
        self._wanted = wanted[:, :, None].astype(np.float32)
        self._last = average.astype(np.float32) @ _refinement()
        self._open = self._last[:, None] > self._wanted
        self.day = np.where(self._open, np.inf, 0.0)
        self._left = self._open.reshape(len(average), -1) @ _cell_members()

    def feed(self, ids: np.ndarray, before: FloatArray, after: FloatArray, average: FloatArray) -> None:
        """The stacks `ids` have gone from day `before` to day `after` and are now at `average` [len(ids), 13]."""
        all_of_them = len(ids) == len(self._last)
        rows: np.ndarray | slice = slice(None) if all_of_them else ids
        last, now = self._last[rows], average.astype(np.float32) @ _refinement()
        here = now[:, None] <= self._wanted[rows]
        here &= self._open[rows]
        hit = np.flatnonzero(here)
        if len(hit):
            row, corner = np.divmod(hit, _CELLS)
            shift, course = np.divmod(corner, _SHAPE[1] * _SHAPE[2])
            first = last[row, course]
            fall = np.maximum(first - now[row, course], 1e-9)
            share = np.clip((first - self._wanted[ids[row], shift, 0]) / fall, 0, 1)
            self.day[ids[row], shift, course] = before[row] + share * (after - before)[row]
            self._open[ids[row], shift, course] = False
            self._left -= np.bincount(ids[row], _cell_members()[corner], len(self._left))
        self._last[rows] = now

    def missing(self, ids: np.ndarray) -> FloatArray:
        """Share of the members of the stacks `ids` that are not ready yet."""
        return self._left[ids] / MEMBERS


def _normals() -> FloatArray:
    """512 points of three independent standard normals, [3, 512]: the first of Sobol's sequence, in mid-cell."""
    points = scipy.stats.qmc.Sobol(3, scramble=False).random_base2(9) + 0.5 / MEMBERS
    return scipy.special.ndtri(points.T)


@cache
def _corners() -> tuple[np.ndarray, FloatArray, np.ndarray]:
    """For each member its 8 corners in the flat table of crossing days, their weights, and the nearest of them."""
    cells, shares = [], []
    for z, nodes in zip(_normals(), (_SHIFTS, STATE_NODES, _FINE), strict=True):
        cell = np.clip(np.searchsorted(nodes, z, side="right") - 1, 0, len(nodes) - 2)
        cells.append(cell)
        shares.append((z - nodes[cell]) / (nodes[cell + 1] - nodes[cell]))
    corners, weights = [], []
    for bits in np.ndindex(2, 2, 2):
        corner = [cell + bit for cell, bit in zip(cells, bits, strict=True)]
        corners.append(np.ravel_multi_index(corner, _SHAPE))
        weights.append(np.prod([s if bit else 1 - s for s, bit in zip(shares, bits, strict=True)], axis=0))
    near = [np.clip(cell + np.rint(share), cell, cell + 1) for cell, share in zip(cells, shares, strict=True)]
    return np.stack(corners), np.stack(weights), np.ravel_multi_index([n.astype(np.intp) for n in near], _SHAPE)


@cache
def _cell_members() -> FloatArray:
    """Members nearest to each cell of the flat table; whole numbers, so that 0 is 0."""
    return np.bincount(_corners()[2], minlength=_CELLS).astype(np.float64)


def ready_days(crossings: Crossings) -> FloatArray:
    """Sorted days from today until ready of the members, [S, 512], inf where not within the horizon."""
    flat = crossings.day.reshape(len(crossings.day), -1)
    corners, weights, nearest = _corners()
    low = high = flat[:, corners[0]]
    total = np.zeros_like(low)
    for corner, weight in zip(corners, weights, strict=True):
        value = flat[:, corner]
        low, high = np.minimum(low, value), np.maximum(high, value)
        total += weight * np.where(np.isfinite(value), value, 0)
    finite = np.isfinite(high)
    smooth = finite & (np.where(finite, high, 0) - np.where(finite, low, 0) <= JUMP_DAYS)
    return np.sort(np.where(smooth, np.maximum(total, 0), flat[:, nearest]), axis=1)
