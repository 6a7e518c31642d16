"""What a running kiln ought to be set to: the published rules by worked figures, and a run followed to its end."""

import numpy as np
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying import air, operating, samples, wood
from drying.ranges import within
from drying.schedules import finish, schedule

OAK = schedule("T4-D2")


def due(moisture, ending=None, **known):
    given_ = {"warm": True, "conditions": True, "conditioned": False, **known}
    return operating.phase_due(operating.standing(moisture), ending or finish(7, "hardwood"), **given_)


def test_the_steps_follow_the_wettest_half():
    """Of four the two wettest; of five the three wettest (AH-188 ch. 6, recalled; the middle one is our choice)."""
    assert operating.standing([40, 60, 50, 30]).controlling_pct == 55
    assert operating.standing([40, 60, 50, 30, 20]).controlling_pct == 50
    assert operating.standing([41.5]) == operating.Standing(41.5, 41.5, 41.5)


@given(st.lists(st.floats(1, 200), min_size=1, max_size=20))
def test_the_controlling_moisture_lies_between_mean_and_wettest(moisture):
    found = operating.standing(moisture)
    assert np.mean(moisture) - 1e-9 <= found.controlling_pct <= found.wettest_pct + 1e-9


def test_equalising_of_a_charge_for_7_percent():
    """Wengert, equalizing and conditioning: target 7 %: begin when the driest is at 5 %, hold EMC 5 %, stop when the
    wettest is at 7 %."""
    ending = finish(7, "hardwood")
    assert (ending.driest_pct, ending.equalise_pct, ending.wettest_pct) == (5, 5, 7)
    assert due([9.0, 5.1]) == "drying"
    assert due([9.0, 5.0]) == "equalising"
    assert due([7.1, 5.4], equalising=True) == "equalising", "boards that take up a little do not end it"
    assert due([7.0, 5.2], equalising=True) == "conditioning"
    assert due([7.0, 5.2], conditioned=True) == due([7.0, 5.2], conditions=False) == "cooling"


def test_cooling_stays_cooling_over_scatter_and_not_over_wet_boards():
    """Target 7 %, common practice, no source: a point above it is scatter, more is wood that is wet."""
    kiln = {"conditions": False, "cooling": True, "equalising": True}
    assert due([8.0, 6.0], **kiln) == "cooling"
    assert due([8.1, 6.0], **kiln) == "equalising"
    assert due([7.1, 6.0], **(kiln | {"cooling": False})) == "equalising", "it is not begun before the target"
    assert due([10.5, 9.0], conditioning=True, cooling=True) == "cooling", "damp air of conditioning: up to 11 %"
    assert due([10.5, 9.0], conditions=False, conditioned=True) == "drying", "no damp air, no leeway for it"


def test_before_it_is_warm_it_warms_up():
    assert due([60.0], warm=False) == "warm_up"
    assert not operating.is_warm(41.0, OAK) and operating.is_warm(42.0, OAK), "the first step is 43.3 °C (110 °F)"


@pytest.mark.parametrize(("controlling", "step"), [(65, 1), (50.1, 1), (50, 2), (41, 2), (40, 3), (33, 4), (12, 8)])
def test_the_step_in_force_is_that_of_the_published_table(controlling, step):
    """T4-D2: depression steps at 50, 40, 35, 30, 25 % and temperature steps at 30, 25, 20, 15 % (AH-188 ch. 7,
    recalled)."""
    found = operating.setting("drying", OAK, finish(7, "hardwood"), controlling)
    assert found.step == step
    assert found.dry_bulb_c == OAK.steps[step - 1].dry_bulb_c


def test_a_sample_board_leads_to_its_step():
    """Worked example: sections 182.4 to 98.6 g and 176.9 to 97.2 g, board 4820 g; at 3620 g it is at 37.8 %
    (method: Wengert, oak-drying series 3B; figures constructed), which T4-D2 answers with its third step."""
    green = float(np.mean(samples.moisture_pct([182.4, 176.9], [98.6, 97.2])))
    now = float(samples.current_moisture_pct(3620, samples.oven_dry_g(4820, green)))
    assert now == pytest.approx(37.8, abs=0.05)
    assert operating.setting("drying", OAK, finish(7, "hardwood"), now).step == 3


@pytest.mark.parametrize("phase", ["warm_up", "drying", "equalising", "conditioning", "cooling"])
def test_at_height_it_is_the_same_air_with_the_wet_bulb_that_shows_there(phase):
    """By psychrolib (ASHRAE 2017 Fundamentals ch. 1) at the pressure of 1,500 m."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    ours = float(air.pressure_pa(1500))
    at_sea, found = (operating.setting(phase, OAK, finish(8, "hardwood"), 32, p) for p in (101325.0, ours))
    assert (found.dry_bulb_c, found.humidity_pct, found.emc_pct) == (
        at_sea.dry_bulb_c,
        at_sea.humidity_pct,
        at_sea.emc_pct,
    )
    theirs = psychrolib.GetTWetBulbFromRelHum(
        found.dry_bulb_c, found.humidity_pct / 100, psychrolib.GetStandardAtmPressure(1500)
    )
    assert found.wet_bulb_c == pytest.approx(theirs, abs=0.02)
    assert found.wet_bulb_c < at_sea.wet_bulb_c


@pytest.mark.parametrize("phase", ["equalising", "conditioning"])
def test_the_closing_air_has_the_emc_that_is_asked_for(phase):
    ending = finish(8, "hardwood")
    found = operating.setting(phase, OAK, ending, 8)
    wanted = ending.equalise_pct if phase == "equalising" else ending.condition_pct
    assert float(wood.equilibrium_moisture_pct(found.dry_bulb_c, found.humidity_pct)) == pytest.approx(wanted, abs=0.05)
    assert found.step is None and found.wet_bulb_c < found.dry_bulb_c


def test_the_loss_is_that_of_the_last_two_days_apart():
    assert operating.loss_pct_per_day([0, 1, 3], [40, 37, 33]) == pytest.approx(2)
    assert operating.loss_pct_per_day([0, 1, 1.1], [40, 37, 36.9]) == pytest.approx(3.1 / 1.1), (
        "too near: the one before"
    )
    assert operating.loss_pct_per_day([0], [40]) is operating.loss_pct_per_day([], []) is None
    with pytest.raises(ValueError, match="out of order"):
        operating.loss_pct_per_day([1, 0], [40, 39])
    with pytest.raises(ValueError, match="one day each"):
        operating.loss_pct_per_day([1], [40, 39])


def test_when_the_next_step_comes():
    assert operating.next_start_pct(OAK, 1) == 50 and operating.next_start_pct(OAK, len(OAK.steps)) is None
    assert operating.days_to(52, 50, 2) == 1
    assert operating.days_to(50, 50, 2) == 0
    assert operating.days_to(52, 50, -0.1) is operating.days_to(52, 50, 0) is None


@pytest.mark.parametrize(
    ("dry_bulb", "on", "hours", "why"),
    [
        (58, 1, 99, None),
        (50, 1, 3, "too_early"),
        (50, 1, 20, "steps_off"),
        (50, 3, 20, "limit"),
        (50, None, 20, "unknown"),
    ],
)
def test_why_a_heater_falls_short(dry_bulb, on, hours, why):
    assert operating.heater_falls_short(dry_bulb, 60, on, 3, hours_since_set=hours) == why


def test_it_is_cool_enough_near_the_air_outside():
    assert operating.is_cool(28, 8) and not operating.is_cool(28.1, 8)


def test_no_sample_board_is_told():
    with pytest.raises(ValueError, match="no sample board"):
        operating.standing([])


@settings(deadline=None, max_examples=40)  # a run is up to 400 visits
@given(st.lists(st.floats(6, 80), min_size=2, max_size=8), st.floats(0.5, 4), st.booleans())
def test_a_run_goes_through_its_phases_in_their_order(first, loss, conditions):
    """Boards that dry towards the called-for EMC, each at its own pace: no phase comes back, and the run ends."""
    ending, moisture, seen = finish(8, "softwood"), np.array(first), []
    known = {"warm": False, "conditions": conditions, "conditioned": False, "equalising": False}
    for _visit in range(400):
        now = operating.standing(moisture)
        phase = operating.phase_due(now, ending, **known)
        seen += [phase] if seen[-1:] != [phase] else []
        if phase == "cooling":
            break
        called = operating.setting(phase, OAK, ending, now.controlling_pct)
        within("EMC called for", called.emc_pct, 1, 25, "%")
        if phase in ("drying", "equalising"):
            moisture = moisture + (called.emc_pct - moisture) * (
                1 - np.exp(-loss * np.linspace(0.1, 0.2, moisture.size))
            )
        known |= {"warm": True, "equalising": phase == "equalising", "conditioned": phase == "conditioning"}
    assert seen[-1] == "cooling"
    assert [operating.ORDER.index(phase) for phase in seen] == sorted({operating.ORDER.index(phase) for phase in seen})
