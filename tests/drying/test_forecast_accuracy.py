"""What the forecast's shortcuts cost: few nodes against everything simulated, and coverage under its own model."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from drying.climate import PRESETS, Exposure
from drying.forecast import Method, ReadingInput, StackInput, Stay, Wood, forecast, simulate_all
from drying.forecasting import calibrate, departure
from drying.forecasting.ahead import band
from drying.forecasting.batch import run
from drying.forecasting.calibrate import Priors, Readings
from drying.forecasting.members import _normals, targets
from drying.forecasting.walk import Walk, Whereabouts

WOODS = (
    (Wood(560, 1, 0.41, 0.45), 80.0),
    (Wood(380, 5, 0.35, 0.45), 90.0),
    (Wood(550, 2, 0.27, 0.45), 45.0),
    (Wood(600, 1, 0.32, 0.45), 70.0),
)


def yard(count: int, readings: int) -> list[StackInput]:
    rng = np.random.default_rng(11)
    stacks = []
    for i in range(count):
        wood, green = WOODS[i % len(WOODS)]
        begin = date(2024, 1, 10) + timedelta(days=int(rng.integers(365)))
        stay = Stay(begin, PRESETS[("temperate_inland", "cold_continental")[i // 4 % 2]].climate, Exposure.OPEN_YARD)
        thickness = float(rng.choice([25, 27, 32, 40]))
        stacks.append(StackInput(str(i), wood, thickness, begin, green, 0.12, (stay,), (), 20.0))
    if not readings:
        return stacks
    truths = [replace(given, rate_log_shift=0.3 * rng.normal()) for given in stacks]
    read = []
    for given, course in zip(stacks, simulate_all(truths, days=80), strict=True):
        days = [given.start + timedelta(days=day) for day in (15, 40, 75)[:readings]]
        visits = tuple(ReadingInput(day, Method.PINS, course.on(day), 8) for day in days)
        read.append(replace(given, readings=visits))
    return read


def test_30_simulated_courses_stand_for_153():
    """Moisture at the readings on all 153 grid points, interpolated against simulated: far inside a reading's error
    but at the grid's corners."""
    stacks = yard(16, 3)
    where, readings = Whereabouts.of(stacks, 30), Readings.of(stacks)
    priors = Priors.of(stacks, np.zeros(len(stacks)))
    few = calibrate.simulate_past(stacks, where, priors, readings).at_readings @ calibrate.grid_spread().T
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(calibrate, "SIMULATED", calibrate.GRID)
        patch.setattr(calibrate, "MIDDLE", len(calibrate.GRID) // 2)
        every = calibrate.simulate_past(stacks, where, priors, readings).at_readings
    apart = 100 * np.abs(few - every)
    assert np.median(apart) < 0.15
    assert np.percentile(apart, 95) < 2.0
    assert apart.max() < 9


def direct(stacks: list[StackInput], monkeypatch: pytest.MonkeyPatch) -> tuple[np.ndarray, np.ndarray]:
    """Ready days of 512 members, and their moisture by day for 120 days, each member simulated day by day."""
    outcome = run(stacks, 730)
    u_v_w = _normals()[[2, 1, 0]]
    monkeypatch.setattr(departure, "NODES", u_v_w[:2].T)
    where, everyone = Whereabouts.of(stacks, 730), np.arange(len(stacks))
    boards, state = outcome.departure.nodes(stacks, where.air.equilibrium[where.rows(everyone, outcome.today)])
    usual = where.air.equilibrium.reshape(-1, 365)[where.places[:, -1]].mean(1)
    shifts = targets(np.full(len(stacks), 0.20), outcome.departure.moisture, usual)
    wanted = shifts[:, 1, None] + (shifts[:, 2] - shifts[:, 1])[:, None] * u_v_w[2] / 1.5
    walk = Walk(where, everyone, boards, state, outcome.today.copy(), 0)
    ready = np.where(state.average <= wanted, 0.0, np.inf)
    moisture = [state.average]
    for day in range(1, 731):
        before = walk.state.average
        walk.advance(np.ones(len(stacks)), np.full((len(stacks), 1), np.inf))
        share = (before - wanted) / np.maximum(before - walk.state.average, 1e-9)
        ready = np.where(np.isinf(ready) & (walk.state.average <= wanted), day - 1 + np.clip(share, 0, 1), ready)
        if day <= 120:
            moisture.append(walk.state.average)
    return np.sort(ready, 1), np.stack(moisture)


@pytest.mark.parametrize("readings", [0, 3])
def test_13_nodes_stand_for_512_simulated_members(readings, monkeypatch):
    """P10, P50, P90 of the ready day and of the moisture. Steps of up to a week make ours a day or two later; near a
    winter single quantiles are off by more."""
    stacks = yard(16, readings)
    outcome = run(stacks, 730)
    ready, moisture = direct(stacks, monkeypatch)
    apart = np.abs(np.minimum(outcome.walked.ready, 730) - np.minimum(ready, 730))[:, [51, 256, 460]]
    assert (np.median(apart, 0) < 3).all()
    assert np.percentile(apart, 90) < 15
    where = Whereabouts.of(stacks, 730)
    usual = where.air.equilibrium.reshape(-1, 365)[where.places[:, -1]].mean(1)
    curves = band(outcome.walked, outcome.departure.moisture, usual)
    for day in (30, 60, 100):
        exact = np.quantile(moisture[day], [0.1, 0.5, 0.9], axis=1)
        ours = [[np.interp(day, outcome.walked.day[:, i], curve[:, i]) for i in range(len(stacks))] for curve in curves]
        gap = 100 * np.abs(np.array(ours) - exact)
        assert np.median(gap) < 0.7
        assert gap.max() < 4.5


def test_the_band_covers_stacks_that_dry_as_the_model_says():
    """Rates, green moistures and pin readings drawn from the model's own priors: 80 % of ready days lie in P10..P90,
    more rather than less since the band allows for a model that is wrong (coverage under another truth: bench)."""
    rng = np.random.default_rng(3)
    inside = total = 0
    stacks, ready = [], []
    expected = yard(60, 0)
    truths = [
        replace(
            given,
            rate_log_shift=0.45 * rng.normal(),
            initial_moisture_pct=given.initial_moisture_pct * np.exp(0.12 * rng.normal()),
        )
        for given in expected
    ]
    for given, course in zip(expected, simulate_all(truths), strict=True):
        visits = []
        for day in (given.start + timedelta(days=d) for d in (20, 40)):
            true = course.on(day)
            noise = np.hypot(0.8, 0.04 * true) + 0.35 * max(true - 28, 0)
            visits.append(ReadingInput(day, Method.PINS, max(true + noise * rng.normal(), 5.0), 8))
        stacks.append(replace(given, readings=tuple(visits)))
        ready.append(given.start + timedelta(days=course.day_reaching(20.0) or 9999))
    for found, day in zip(forecast(stacks), ready, strict=True):
        if day > found.as_of:
            total += 1
            inside += (found.p10 or date.max) <= day <= (found.p90 or date.max)
    assert total > 40
    assert 0.75 <= inside / total <= 0.98
