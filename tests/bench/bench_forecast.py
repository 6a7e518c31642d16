"""The forecast: how its time grows, and how well its band covers stacks that dry by another law."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from time import process_time

import numpy as np

from drying.climate import PRESETS, Exposure
from drying.forecast import Method, ReadingInput, StackInput, Stay, forecast
from tests.bench.coverage import STAGES, score
from tests.bench.figure import Figure
from tests.bench.synthetic_yard import SPECIES, synthetic

SEED, STACKS = 22, 100  # not the seeds the spreads were settled on (1 and 2)
METHODS = (Method.PINS, Method.CAPACITANCE, Method.SAMPLE_BOARD)


def yard(count: int) -> list[StackInput]:
    """Invented stacks of up to half a year, three quarters of them with three readings."""
    rng = np.random.default_rng(0)
    today, found = date(2025, 9, 1), []
    for i in range(count):
        wood, green = SPECIES[rng.integers(len(SPECIES))]
        age = int(rng.integers(10, 180))
        begin = today - timedelta(days=age)
        stay = Stay(begin, PRESETS["temperate_inland"].climate, list(Exposure)[rng.integers(3)])
        days = sorted(rng.choice(np.arange(2, age), 3, replace=False)) if i % 4 else []
        readings = tuple(
            ReadingInput(begin + timedelta(days=int(d)), Method.PINS, max(100 * green * np.exp(-d / 90), 14.0), 8)
            for d in days
        )
        thickness = float(rng.choice([25, 27, 32, 40, 52, 65]))
        found.append(StackInput(str(i), wood, thickness, begin, 100 * green, 0.12, (stay,), readings, 20.0))
    return found


def seconds(stacks: list[StackInput], times: int = 1) -> float:
    begun = process_time()
    for _ in range(times):
        forecast(stacks)
    return (process_time() - begun) / times


def figures() -> Iterator[Figure]:
    yield from _speed()
    truth = synthetic(STACKS, SEED)
    for method in METHODS:
        for stage in STAGES:
            if stage or method is METHODS[0]:
                found = score(truth, method, stage)
                name = f"{method}, {stage} readings, {found.count} stacks" if stage else "before any reading"
                covered = 0.75 <= found.covered <= (0.87 if stage else 0.93)
                goal = "0.80 +- 0.05 (0.07 over is let pass; before any reading 0.93)"
                yield Figure(f"{name}: covered by P10..P90", found.covered, "share", goal, covered)
                off = found.error_days / found.remaining_days
                yield Figure(f"{name}: median miss of P50 / remaining time", off, "share", "0.35 or less", off <= 0.35)
                wide = found.width_days / found.remaining_days
                yield Figure(f"{name}: median width / remaining time", wide, "ratio", "2 or less", wide <= 2)


def _speed() -> Iterator[Figure]:
    whole = yard(2000)
    forecast(whole[:20])
    quarter, full = seconds(whole[:500]), seconds(whole)
    yield Figure("2,000 stacks", full, "s of processor", "2 s on an idle machine; 4 s let pass", full <= 4)
    yield Figure("2,000 stacks against 500", full / quarter, "ratio", "4.6 or less (linear: 4)", full / quarter <= 4.6)
    one = next(stack for stack in whole if stack.readings)
    newer = replace(one, readings=(*one.readings, replace(one.readings[-1], moisture_pct=20.0)))
    alone = seconds([newer], 5)
    yield Figure("one stack after a reading", 1000 * alone, "ms of processor", "100 or less", alone <= 0.1)
    yield Figure("one stack / 2,000 stacks", alone / full, "ratio", "0.05 or less", alone / full <= 0.05)
