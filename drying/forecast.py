"""When will each stack be ready? Many stacks at once, from what is known of each; never one date alone.

    found = forecast([StackInput(...), ...])
    found[0].p10, found[0].p50, found[0].p90, found[0].moisture_on(day)

Deterministic: same stacks, same answer, alone or among others. Without a clock: it starts on the stack's `as_of`.
The method is ours (drying method §7), its model `drying.diffusion`; what is out of range raises ValueError naming it.
"""

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import chain, groupby

import numpy as np

from drying.climate import Exposure
from drying.diffusion import THICK_MM, Wood
from drying.forecasting.ahead import MIDDLE, TENTH
from drying.forecasting.batch import Outcome, run
from drying.forecasting.calibrate import UNEXPECTED
from drying.forecasting.course import Course, simulate, simulate_all
from drying.forecasting.members import MEMBERS, P10, P50, P90
from drying.forecasting.stacks import Method, ReadingInput, StackInput, Stay
from drying.ranges import FloatArray

__all__ = [
    "Course",
    "Exposure",
    "Forecast",
    "Method",
    "ReadingInput",
    "StackInput",
    "Stay",
    "Wood",
    "forecast",
    "simulate",
    "simulate_all",
]

# Stacks in a batch, at most. Threads over the batches were tried and gained nothing; processes do (`pool`).
CHUNK, SHARED_CHUNK = 1024, 500
_POINTS_AHEAD = np.concatenate([[0, 1, 2, 3, 5, 7, 10], np.arange(14, 182, 7), np.arange(182, 3001, 14)]).astype(float)
_RANKS = np.unique([0, *(np.arange(1, 41) * MEMBERS // 40 - 1), P10, P50, P90])
_SIDES = TENTH * np.array([[-1.0], [0.0], [1.0]])
_CHANCES = ((_RANKS + 1) / MEMBERS).tolist()


@dataclass(frozen=True, slots=True)
class Forecast:
    """What is expected of one stack.

    as_of: the last reading's day, or the start. p10, p50, p90: the day by which it is ready with that probability;
    None is "not within the horizon". reachable_pct: the lowest equilibrium moisture of its last place; never: the
    target is below that plus one point. curve_*: the stack's mean moisture by ordinal day, past from the readings, then
    ahead. probability: (ordinal, chance that it is ready by then), sparse. unexpected: indices of readings further than
    three standard deviations from what was expected; surprise: those deviations, one a reading. rate_log_mean,
    rate_log_sd: what is now known of ln(rate) of this stack. loss_pct_per_day: what it is losing on `as_of`.
    """

    key: str
    as_of: date
    p10: date | None
    p50: date | None
    p90: date | None
    reachable_pct: float
    never: bool
    curve_days: tuple[int, ...]
    curve_p10_pct: tuple[float, ...]
    curve_p50_pct: tuple[float, ...]
    curve_p90_pct: tuple[float, ...]
    probability: tuple[tuple[int, float], ...]
    unexpected: tuple[int, ...]
    surprise: tuple[float, ...]
    rate_log_mean: float
    rate_log_sd: float
    loss_pct_per_day: float

    def moisture_on(self, day: date) -> tuple[float, float, float]:
        """P10, P50, P90 of the stack's mean moisture, %, on a day; before and after the curve its end values."""
        curves = (self.curve_p10_pct, self.curve_p50_pct, self.curve_p90_pct)
        low, middle, high = (float(np.interp(day.toordinal(), self.curve_days, curve)) for curve in curves)
        return low, middle, high

    def chance_by(self, day: date) -> float:
        """Probability 0..1 that the stack is ready by a day."""
        return max((chance for ordinal, chance in self.probability if ordinal <= day.toordinal()), default=0.0)


def forecast(stacks: Sequence[StackInput], *, horizon_days: int = 730, pool: Executor | None = None) -> list[Forecast]:
    """Forecast each stack, in the order given. `horizon_days` counts from each stack's `as_of` (30..3000).

    `pool`: where the batches of many stacks are worked on, if not here: processes that the caller started, such as a
    `concurrent.futures.ProcessPoolExecutor`. The answer is the same.
    """
    if not 30 <= horizon_days <= 3000:
        raise ValueError(f"a horizon of {horizon_days} days is outside 30 to 3000")
    batches = sorted(_batches(stacks, SHARED_CHUNK if pool else CHUNK), key=len, reverse=True)
    some = [[stacks[i] for i in indices] for indices in batches]
    work = partial(_forecasts, horizon_days=horizon_days)
    found = dict(zip(chain(*batches), chain(*(pool.map(work, some) if pool else map(work, some))), strict=True))
    return [found[i] for i in range(len(stacks))]


def _forecasts(stacks: Sequence[StackInput], horizon_days: int) -> list[Forecast]:
    """Of one batch."""
    outcome = run(stacks, horizon_days)
    ahead = _ahead(outcome)
    return [_forecast(outcome, ahead, row, stack) for row, stack in enumerate(stacks)]


def _batches(stacks: Sequence[StackInput], most: int) -> Iterator[list[int]]:
    """Indices of stacks that can be stepped together: same cells, all with or all without readings, of like age."""

    def kind(i: int) -> tuple[bool, bool]:
        return stacks[i].thickness_mm > THICK_MM, bool(stacks[i].readings)

    order = sorted(range(len(stacks)), key=lambda i: (kind(i), (stacks[i].as_of - stacks[i].start).days, i))
    for _, group in groupby(order, key=kind):
        members = list(group)
        for first in range(0, len(members), most):
            yield members[first : first + most]


def _forecast(outcome: Outcome, ahead: FloatArray, row: int, stack: StackInput) -> Forecast:
    never = bool(outcome.never[row])
    ready = [None if never else _date(outcome, row, rank) for rank in (P10, P50, P90)]
    days, curves = _curves(outcome, ahead, row)
    surprise = _surprise(outcome, row)
    return Forecast(
        key=stack.key,
        as_of=stack.as_of,
        p10=ready[0],
        p50=ready[1],
        p90=ready[2],
        reachable_pct=100 * float(outcome.reachable[row]),
        never=never,
        curve_days=days,
        curve_p10_pct=curves[0],
        curve_p50_pct=curves[1],
        curve_p90_pct=curves[2],
        probability=() if never else _probability(outcome, row),
        unexpected=tuple(index for index, z in enumerate(surprise) if abs(z) > UNEXPECTED),
        surprise=surprise,
        rate_log_mean=float(outcome.departure.learned_log[row]),
        rate_log_sd=float(outcome.departure.learned_log_sd[row]),
        loss_pct_per_day=_loss(outcome, row),
    )


def _date(outcome: Outcome, row: int, rank: int) -> date | None:
    days = outcome.walked.ready[row, rank]
    return date.fromordinal(int(outcome.today[row] + np.ceil(days))) if np.isfinite(days) else None


def _probability(outcome: Outcome, row: int) -> tuple[tuple[int, float], ...]:
    days = outcome.walked.ready[row, _RANKS]
    ordinals = (outcome.today[row] + np.ceil(days[np.isfinite(days)])).astype(int).tolist()
    return tuple(dict(zip(ordinals, _CHANCES, strict=False)).items())


def _surprise(outcome: Outcome, row: int) -> tuple[float, ...]:
    """Of each reading in the order given (they were sorted by time)."""
    if outcome.posterior is None:
        return ()
    by_time = zip(outcome.readings.order[row], outcome.posterior.surprise[row], strict=False)
    return tuple(float(z) for _, z in sorted(by_time))


def _loss(outcome: Outcome, row: int) -> float:
    """Median loss, % a day, over the first day ahead (or the first step, where that is longer)."""
    days = outcome.walked.day[:, row]
    step = int((days < 1).sum())
    lost = outcome.walked.average[0, row, MIDDLE] - outcome.walked.average[step, row, MIDDLE]
    return 100 * float(lost / days[step])


def _ahead(outcome: Outcome) -> FloatArray:
    """P10, P50, P90 of all stacks on _POINTS_AHEAD, [3, points, stacks]: straight lines between the days walked."""
    day, stack = outcome.walked.day, np.arange(len(outcome.today))
    points = _POINTS_AHEAD[day.max() > _POINTS_AHEAD]
    before = np.minimum((day <= points[:, None, None]).sum(1), len(day) - 1) - 1
    first, second = day[before, stack], day[before + 1, stack]
    share = np.clip((points[:, None] - first) / np.maximum(second - first, 1e-9), 0, 1)
    bands = np.stack([outcome.low, outcome.middle, outcome.high])
    start = bands[:, before, stack]
    return start + share * (bands[:, before + 1, stack] - start)


def _curves(outcome: Outcome, ahead: FloatArray, row: int) -> tuple[tuple[int, ...], list[tuple[float, ...]]]:
    """Ordinals and P10, P50, P90 in %: the past, then ahead from today on."""
    last = outcome.walked.day[-1, row]
    count = int((last > _POINTS_AHEAD).sum())
    earlier = 0 if outcome.past is None else len(outcome.past.day[row])
    curves = np.empty((3, earlier + count + 1))
    days = np.empty(curves.shape[1])
    days[earlier:-1], days[-1] = outcome.today[row] + _POINTS_AHEAD[:count], outcome.today[row] + last
    curves[:, earlier:-1] = ahead[:, :count, row]
    curves[:, -1] = outcome.low[-1, row], outcome.middle[-1, row], outcome.high[-1, row]
    if outcome.past is not None:
        past = days[:earlier] = np.floor(outcome.past.day[row])
        curves[:, :earlier] = outcome.past.mean[row] + _SIDES * outcome.past.sd[row]
        first = np.diff(past, prepend=-1.0) > 0
        kept = np.append(first & (outcome.past.day[row] < outcome.today[row]), np.ones(count + 1, bool))
        days, curves = days[kept], curves[:, kept]
    low, middle, high = (100 * np.maximum(curves, 0.0)).tolist()
    return tuple(days.astype(int).tolist()), [tuple(low), tuple(middle), tuple(high)]
