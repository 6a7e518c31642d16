"""Stress so far: against the whole kiln run's own index, and as physics wants it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying import diffusion, schedules, watch
from drying.heat import Chamber, Parcel, kiln_run
from drying.stresssofar import RATES, WoodInside, stress_so_far

OAK = diffusion.Wood(560, 1, 0.41, 0.45)
INSIDE = WoodInside(OAK, 27.0, 60.0, "slow_hardwood")
KILN = Chamber(length_m=5, width_m=2, height_m=2, heater_kw=20, max_temperature_c=80, humidifies=True)


def held(inside, temperature_c, humidity_pct, hours=72.0):
    return stress_so_far([inside], [0.0], [temperature_c], [humidity_pct], hours)[0]


def test_it_is_the_index_that_the_kiln_run_itself_reckons():
    """The same wood in the air that a modelled run had: the same worst index, within the longer steps' error."""
    schedule = schedules.for_wood("slow_hardwood", "T4-D2", 27, 80, humidifies=True)
    run = kiln_run(KILN, [Parcel(OAK, 27.0, 5.0, 60.0, "slow_hardwood")], schedule, 8.0, 8.0, 75.0)
    [found] = stress_so_far([INSIDE], run.hours, run.temperature_c, run.humidity_pct, float(run.hours[-1]))
    assert found.worst == pytest.approx(run.risk["stress"], rel=0.12)
    assert found.mean_pct == pytest.approx(run.moisture_pct[0, -1], abs=1.5)


def test_the_published_schedule_s_first_step_is_borne_and_its_last_one_at_once_is_not():
    """T4-D2 for red oak 25 mm (AH-188, recalled): first step 43.3 °C, 87.4 %; the last one's air on green wood."""
    first, last = (schedules.schedule("T4-D2").steps[at] for at in (0, -1))
    assert held(INSIDE, first.dry_bulb_c, first.relative_humidity_pct).worst < watch.ACT
    assert held(INSIDE, last.dry_bulb_c, last.relative_humidity_pct).worst > watch.ACT


@settings(max_examples=25)
@given(temperature=st.floats(25, 60), humidity=st.floats(40, 90), drier=st.floats(1, 30))
def test_drier_air_stresses_no_less(temperature, humidity, drier):
    assert held(INSIDE, temperature, humidity - drier, 36).worst >= held(INSIDE, temperature, humidity, 36).worst - 1e-6


@settings(max_examples=25)
@given(rate=st.floats(float(RATES[0]), float(RATES[-1])))
def test_wood_measured_to_dry_at_a_rate_is_followed_at_that_rate(rate):
    """The measured moisture comes from the same model at that very rate."""
    faster = replace(INSIDE, wood=replace(OAK, rate=OAK.rate * rate))
    seen = held(faster, 45.0, 70.0, 96.0).mean_pct
    found = held(replace(INSIDE, measured=(96.0, seen)), 45.0, 70.0, 96.0)
    assert found.rate == pytest.approx(rate, rel=0.06)
    assert found.mean_pct == pytest.approx(seen, abs=0.4)


def test_damp_air_lets_it_down_and_a_day_ahead_is_told():
    hours, warm, damp = [0.0, 23.9, 24.0], [45.0, 45.0, 45.0], [60.0, 60.0, 95.0]
    before = stress_so_far([INSIDE], hours[:2], warm[:2], damp[:2], 24.0)[0]
    after = stress_so_far([INSIDE], hours, warm, damp, 36.0)[0]
    assert before.ahead >= before.index > after.index
    assert after.worst == pytest.approx(before.worst, rel=0.05)
    assert after.worst_at_h < 26.1


def test_dry_wood_checks_no_more():
    assert held(replace(INSIDE, moisture_pct=15.0), 60.0, 30.0).worst == 0


def test_several_woods_are_each_told_as_alone():
    thick = WoodInside(diffusion.Wood(480, 1, 0.5, 0.6), 52.0, 80.0, "medium_hardwood", (24.0, 76.0))
    both = stress_so_far([INSIDE, thick], [0.0, 24.0], [40.0, 45.0], [80.0, 70.0], 48.0)
    wide = stress_so_far([replace(INSIDE, thickness_mm=27.0), thick], [0.0, 24.0], [40.0, 45.0], [80.0, 70.0], 48.0)
    assert both == wide
    assert both[1] == stress_so_far([thick], [0.0, 24.0], [40.0, 45.0], [80.0, 70.0], 48.0)[0]


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"hours": [], "temperature_c": [], "humidity_pct": []}, "and some"),
        ({"hours": [5.0, 1.0], "temperature_c": [40.0, 40.0], "humidity_pct": [50.0, 50.0]}, "must ascend"),
        ({"until_h": 0.0}, "hours since the start"),
    ],
)
def test_what_tells_nothing_is_refused(changed, said):
    good = {"hours": [0.0], "temperature_c": [40.0], "humidity_pct": [60.0], "until_h": 24.0}
    with pytest.raises(ValueError, match=said):
        stress_so_far([INSIDE], **(good | changed))
    assert np.isfinite(stress_so_far([INSIDE], **good)[0].worst)
