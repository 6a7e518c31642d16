"""A heater in steps: the same energy, switched between two steps; what it draws is a whole step."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import heat, schedules
from drying.diffusion import Wood
from drying.kiln.heatersteps import highest_kw, step_hours

SPRUCE = Wood(380, 5, 0.35, 0.45, "softwood")
CHAMBER = heat.Chamber(5, 2, 2, 6, 60, fan_kw=0.25)


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0.1, 5)), min_size=1, max_size=20), st.integers(1, 24))
def test_energy_and_time_stay(record, steps):
    need, hours = 6 * np.array([share for share, _ in record]), np.array([hour for _, hour in record])
    on = step_hours(need, hours, 6.0, steps)
    assert len(on) == steps + 1
    assert sum(on) == pytest.approx(hours.sum())
    assert sum(i * 6 / steps * one for i, one in enumerate(on)) == pytest.approx((need * hours).sum())
    assert min(on) >= 0
    assert highest_kw(on, 6.0) >= need.max() - 1e-3


def test_by_hand():
    """5 kW of 6 in three steps of 2: half the time two, half the time three. 2 kW: one step all the time."""
    assert step_hours(np.array([5.0, 2.0]), np.array([4.0, 10.0]), 6.0, 3) == pytest.approx((0, 10, 2, 2))
    assert highest_kw((1.0, 10.0, 0.0, 0.0), 6.0) == 2


def test_a_run_in_steps_uses_the_same_energy_and_draws_whole_steps():
    parcel = heat.Parcel(SPRUCE, 27, 3, 25)
    schedule = schedules.for_wood("softwood", None, 27, 60, target_pct=15)
    smooth = heat.kiln_run(CHAMBER, [parcel], schedule, 15, 8, 75)
    stepped = heat.kiln_run(replace(CHAMBER, heater_steps=3), [parcel], schedule, 15, 8, 75)
    assert smooth.heater_step_hours == ()
    assert (stepped.days, stepped.heater_kwh) == (smooth.days, smooth.heater_kwh)
    assert sum(2 * i * one for i, one in enumerate(stepped.heater_step_hours)) == pytest.approx(smooth.heater_kwh)
    assert (stepped.peak_kw - 0.25) % 2 == pytest.approx(0, abs=1e-9)
    assert stepped.peak_kw >= smooth.peak_kw - 1e-6
    single = heat.kiln_run(replace(CHAMBER, heater_steps=1), [parcel], schedule, 15, 8, 75)
    assert single.peak_kw == pytest.approx(6.25)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: replace(CHAMBER, heater_steps=30), "heater_steps 30 is outside 1 to 24"),
        (lambda: step_hours(np.array([7.0]), np.array([1.0]), 6.0, 3), "heater power 7 kW"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
