"""The 13 nodes of each stack walked ahead: its moisture's band by day and its ready days. FRACTIONS here."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.forecasting.departure import RATE_NODES, SIDE_RATES, Departure
from drying.forecasting.members import EQUILIBRIUM_BIAS, EQUILIBRIUM_SD, Crossings, pull, ready_days
from drying.forecasting.stacks import StackInput
from drying.forecasting.walk import Walk, Whereabouts, replaced, stride_days
from drying.ranges import FloatArray

LONG_STRIDE_DAYS = 14.0  # once a stack is ready only the season moves it
LEAST_DAYS = 365.0  # every curve goes on so long at least
LATE = 0.05  # a stack is taken for ready when fewer of its members than this are still not
TENTH = 1.2816
MIDDLE = list(RATE_NODES).index(0.0)
_FAST, _SLOW = list(RATE_NODES).index(1.2), list(RATE_NODES).index(-1.2)
_DRY = len(RATE_NODES) + list(SIDE_RATES).index(0.0)
_WET = _DRY + len(SIDE_RATES)


@dataclass(frozen=True, slots=True)
class Ahead:
    """Of S stacks: `day` [steps, S] after today, `average` [steps, S, 13] (ended stacks repeat their last row), and the
    members' sorted days until ready, [S, 512]."""

    day: FloatArray
    average: FloatArray
    ready: FloatArray


def walk_ahead(
    stacks: Sequence[StackInput],
    where: Whereabouts,
    departure: Departure,
    today: FloatArray,
    wanted: FloatArray,
    horizon_days: int,
) -> Ahead:
    """Walk the nodes from `today` [S] until all members reach `wanted` [S, 3] and a year is over, or to the horizon."""
    everyone = np.arange(len(stacks))
    boards, state = departure.nodes(stacks, where.air.equilibrium[where.rows(everyone, today)])
    age = today - np.array([float(stack.start.toordinal()) for stack in stacks])
    walk = Walk(where, everyone, boards, state, today.copy(), MIDDLE, departure.lean())
    crossings = Crossings(wanted, state.average)
    days, averages = [np.zeros(len(stacks))], [state.average]
    while len(walk.ids):
        ids, day = walk.ids, walk.day - today[walk.ids]
        late = crossings.missing(ids)
        going = ((day < LEAST_DAYS) | (late > 0)) & (day < horizon_days)
        if not going.all():
            walk.keep(going)
            continue
        stride = np.where(late < LATE, LONG_STRIDE_DAYS, stride_days(age[ids] + day, walk.loss_per_day))
        walk.advance(np.minimum(stride, horizon_days - day))
        crossings.feed(ids, day, walk.day - today[ids], walk.state.average)
        days.append(replaced(days[-1], ids, walk.day - today[ids]))
        averages.append(replaced(averages[-1], ids, walk.state.average))
    return Ahead(np.stack(days), np.stack(averages), ready_days(crossings))


def band(ahead: Ahead, today: FloatArray, mean_equilibrium: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """P10, P50 and P90 of the stacks' moisture, each [steps, S].

    Root of the sum of the squares of the one-sided effects of rate, state and equilibrium, in place of the members' own
    quantiles day by day; tests/drying/test_forecast.py measures the difference.
    """
    middle = ahead.average[..., MIDDLE]
    come_through = pull(middle, today, mean_equilibrium)
    p50 = middle + EQUILIBRIUM_BIAS * come_through
    error = TENTH * EQUILIBRIUM_SD * come_through
    below, above = (
        np.sqrt(
            ((middle - ahead.average[..., rate]) * TENTH / 1.2) ** 2
            + ((middle - ahead.average[..., state]) * TENTH / 1.3) ** 2
            + error**2
        )
        for rate, state in ((_FAST, _DRY), (_SLOW, _WET))
    )
    return p50 - below, p50, p50 + above
