"""How often the 80 % band covers, how far P50 is off, how wide the band is: on stacks of `synthetic_yard`.

A stack is visited at a seventh, two sevenths, ... of the time that it was expected to take when it was stacked, and
three times as often once a reading is below NEAR. Stages 1, 2, 3, 5 are after so many visits; END is the first visit
that reads no more than three points above the target. A stage counts the stacks that are not ready at its last visit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from drying.forecast import Forecast, Method, ReadingInput, StackInput, forecast
from tests.bench.synthetic_yard import TARGET, Truth

END = 99
STAGES = (0, 1, 2, 3, 5, END)
SAMPLE_BOARDS, METER_BOARDS = 2, 8
NEAR, CLOSE, MOST_VISITS, LATEST = 0.28, TARGET + 0.03, 30, 730.0


@dataclass(frozen=True)
class Score:
    """Of `count` stacks not yet ready at a stage: share covered by P10..P90, share ready before P10 and after P90;
    medians, days: remaining time, width of the band, width it had before any reading, |P50 - truth|, the same of P50
    before any reading, of a line through the last two readings (inf below two), of a year an inch; interval: mean
    interval score of the band over the remaining time's median (Gneiting & Raftery 2007, recalled)."""

    count: int
    covered: float
    early: float
    late: float
    remaining_days: float
    width_days: float
    prior_width_days: float
    error_days: float
    prior_error_days: float
    line_days: float
    inch_days: float
    interval: float

    @property
    def binomial(self) -> float:
        """Standard error of `covered` were it truly .80."""
        return float(np.sqrt(0.16 / self.count))


def visits(truth: Truth, prior: list[Forecast], method: Method, seed: int) -> list[tuple[ReadingInput, ...]]:
    """The visits to each stack until one reads CLOSE or less."""
    rng = np.random.default_rng(seed)
    found = []
    for stack, guess, boards in zip(truth.stacks, prior, truth.boards, strict=True):
        expected = (guess.p50 - stack.start).days if guess.p50 else 500
        bias, too_low = rng.standard_normal(), rng.uniform(0, 0.3)
        day, value = 0, np.inf
        readings: list[ReadingInput] = []
        while value > CLOSE and len(readings) < MOST_VISITS and day < boards.shape[1]:
            day += max(round(expected / (7 if value > NEAR else 21)), 2)
            if day >= boards.shape[1]:
                break
            value = _read(rng, method, boards[:, day], bias, too_low)
            count = SAMPLE_BOARDS if method is Method.SAMPLE_BOARD else METER_BOARDS
            readings.append(ReadingInput(stack.start + timedelta(days=day), method, max(100 * value, 1.0), count))
        found.append(tuple(readings))
    return found


def _read(rng: np.random.Generator, method: Method, boards: np.ndarray, bias: float, too_low: float) -> float:
    """Weighed boards: two of the six. Meters: the mean, noisy, with the stack's own bias, too low above 28 %."""
    if method is Method.SAMPLE_BOARD:
        mean = float(boards[:SAMPLE_BOARDS].mean())
        return mean * (1 + 0.002 * bias) + 0.006 * rng.standard_normal()
    floor, share, common = (0.008, 0.04, 0.010) if method is Method.PINS else (0.012, 0.06, 0.015)
    mean = float(boards.mean())
    wet = max(mean - 0.28, 0)
    noise = np.hypot(floor, share * mean) + 0.3 * wet
    return mean - too_low * wet + common * bias + noise * rng.standard_normal()


@dataclass(frozen=True)
class Study:
    """Stacks, what was expected of them when they were stacked, and the visits to them by one method."""

    truth: Truth
    prior: list[Forecast]
    visits: list[tuple[ReadingInput, ...]]

    @classmethod
    def of(cls, truth: Truth, method: Method, seed: int = 0) -> "Study":
        prior = forecast(truth.stacks)
        return cls(truth, prior, visits(truth, prior, method, seed))

    def reached(self, stage: int) -> list[tuple[StackInput, Forecast, float]]:
        """Stacks with their first `stage` visits, what was expected, and the day they were ready; END: with all visits,
        stacks whose last one read CLOSE."""
        found = []
        for stack, guess, read, day in zip(
            self.truth.stacks, self.prior, self.visits, self.truth.ready_day(), strict=True
        ):
            enough = read and read[-1].moisture_pct <= 100 * CLOSE if stage == END else len(read) >= stage
            visited = replace(stack, readings=read[:stage])
            if enough and day > (visited.as_of - stack.start).days:
                found.append((visited, guess, float(day)))
        return found


def score(studies: Sequence[Study], stage: int) -> Score:
    """Of all the studies' stacks together."""
    reached = [row for study in studies for row in study.reached(stage)]
    forecasts = forecast([stack for stack, _, _ in reached])
    rows = [_row(stack, guess, found, day) for (stack, guess, day), found in zip(reached, forecasts, strict=True)]
    table = np.array(rows, dtype=float)
    table[:, 8] = table[:, 8] if np.isfinite(table[:, 8]).any() else np.inf
    means, medians = table.mean(0), np.nanmedian(table, 0)
    figures = [*means[:3], *medians[3:10], means[10] / medians[3]]
    return Score(len(rows), *figures)


def _row(stack: StackInput, guess: Forecast, found: Forecast, ready: float) -> tuple[float, ...]:
    age = (stack.as_of - stack.start).days
    left = ready - age
    low, middle, high = _days(stack, found)
    before = _days(stack, guess)
    interval = _apart(high, low) + 10 * (_apart(min(left, low), low) + _apart(max(left, high), high))
    return (
        *(low <= left <= high, left < low, left > high, min(left, LATEST)),
        *(_apart(high, low), _apart(before[2], before[0])),
        *(_apart(middle, left), _apart(before[1], left), _apart(_line(stack), left)),
        *(_apart(max(stack.thickness_mm / 25.4 * 365 - age, 0), left), interval),
    )


def _days(stack: StackInput, found: Forecast) -> list[float]:
    """P10, P50, P90 in days from the last reading, none of them in the past."""
    return [max((date - stack.as_of).days, 0) if date else np.inf for date in (found.p10, found.p50, found.p90)]


def _line(stack: StackInput) -> float:
    """Days from the last reading until the straight line through the last two is at the target."""
    if len(stack.readings) < 2:
        return np.nan
    one, two = stack.readings[-2:]
    slope = (one.moisture_pct - two.moisture_pct) / (two.taken_on - one.taken_on).days
    above = two.moisture_pct - 100 * TARGET
    return 0.0 if above <= 0 else above / slope if slope > 0 else np.inf


def _apart(one: float, other: float) -> float:
    return abs(min(one, LATEST) - min(other, LATEST))
