"""How often the 80 % band covers, how far P50 is off, how wide the band is: on stacks of `synthetic_yard`."""

from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from drying.forecast import Forecast, Method, ReadingInput, StackInput, forecast
from tests.bench.synthetic_yard import Truth

STAGES = (0, 2, 3, 5)
SAMPLE_BOARDS = 2


@dataclass(frozen=True)
class Score:
    """Of `count` stacks not yet ready at a stage: share covered by P10..P90, median |P50 - truth| and width in days,
    remaining days."""

    count: int
    covered: float
    early: float
    late: float
    error_days: float
    width_days: float
    remaining_days: float


def visits(truth: Truth, prior: list[Forecast], method: Method, seed: int) -> list[tuple[ReadingInput, ...]]:
    """Five readings a stack, evenly spread over the time it was expected to take when it was stacked."""
    rng = np.random.default_rng(seed)
    found = []
    for stack, guess, boards in zip(truth.stacks, prior, truth.boards, strict=True):
        expected = (guess.p50 - stack.start).days if guess.p50 else 500
        bias = rng.standard_normal()
        readings = []
        for i in range(1, 6):
            day = max(round(expected * i / 7), 2 * i)
            value = _read(rng, method, boards[:, day], bias)
            count = SAMPLE_BOARDS if method is Method.SAMPLE_BOARD else 8
            readings.append(ReadingInput(stack.start + timedelta(days=day), method, max(100 * value, 1.0), count))
        found.append(tuple(readings))
    return found


def _read(rng: np.random.Generator, method: Method, boards: np.ndarray, bias: float) -> float:
    """Weighed boards: two of the six. Meters: the mean, noisy, with the stack's own bias, too low above 28 %."""
    if method is Method.SAMPLE_BOARD:
        mean = float(boards[:SAMPLE_BOARDS].mean())
        return mean * (1 + 0.002 * bias) + 0.006 * rng.standard_normal()
    floor, share, common = (0.008, 0.04, 0.010) if method is Method.PINS else (0.012, 0.06, 0.015)
    mean = float(boards.mean())
    wet = max(mean - 0.28, 0)
    noise = np.hypot(floor, share * mean) + 0.3 * wet
    return mean - rng.uniform(0, 0.3) * wet + common * bias + noise * rng.standard_normal()


def score(truth: Truth, method: Method, stage: int, seed: int = 0) -> Score:
    """Forecast all stacks with their first `stage` readings and compare with how they dried."""
    prior = forecast(truth.stacks)
    stacks = truth.stacks
    if stage:
        read = visits(truth, prior, method, seed)
        stacks = [replace(stack, readings=readings[:stage]) for stack, readings in zip(stacks, read, strict=True)]
    return judged(stacks, truth.ready_day())


def judged(stacks: list[StackInput], ready: np.ndarray) -> Score:
    """Score of these stacks that were really ready `ready` days after their start."""
    rows = []
    for stack, found, day in zip(stacks, forecast(stacks), ready, strict=True):
        age = (stack.as_of - stack.start).days
        if day <= age:
            continue
        low, middle, high = (
            (date - stack.as_of).days if date else np.inf for date in (found.p10, found.p50, found.p90)
        )
        left = day - age
        rows.append(
            (low <= left <= high, left < low, left > high, _apart(middle, left), min(high, 730) - min(low, 730), left)
        )
    table = np.array(rows, dtype=float)
    means, medians = table.mean(0), np.median(table, 0)
    return Score(len(rows), means[0], means[1], means[2], medians[3], medians[4], medians[5])


def _apart(one: float, other: float) -> float:
    return abs(min(one, 730.0) - min(other, 730.0))
