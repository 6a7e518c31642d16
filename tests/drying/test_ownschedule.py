"""A schedule that an operator wrote: its air by any one figure, and where it is harder than the published one."""

from dataclasses import replace

import psychrolib
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drying import schedules
from drying.air import pressure_pa
from drying.operating import wet_bulb_at
from drying.ownschedule import DRIER_PCT, WARMER_K, harder_than, in_order, step_air, step_of, written_code
from drying.schedules import Step

BOOK = schedules.for_wood("slow_hardwood", "T4-D2", 27, 60, humidifies=True)


@given(dry=st.floats(25, 90), humidity=st.floats(12, 98))
def test_each_figure_of_the_air_gives_the_other_two(dry, humidity):
    air = step_air(dry, humidity_pct=humidity)
    for again in (step_air(dry, wet_bulb_c=air.wet_bulb_c), step_air(dry, emc_pct=air.emc_pct)):
        assert again.humidity_pct == pytest.approx(humidity, abs=0.05)
        assert again.emc_pct == pytest.approx(air.emc_pct, abs=0.02)
        assert again.wet_bulb_c == pytest.approx(air.wet_bulb_c, abs=0.02)


@pytest.mark.parametrize(("dry", "wet"), [(54.0, 47.0), (43.3, 40.6), (60.0, 45.0)])
def test_the_air_is_psychrolibs(dry, wet):
    psychrolib.SetUnitSystem(psychrolib.SI)
    theirs = psychrolib.GetRelHumFromTWetBulb(dry, wet, 101325) * 100
    assert step_air(dry, wet_bulb_c=wet).humidity_pct == pytest.approx(theirs, rel=1e-6)


def test_red_oak_s_first_step_has_the_reference_s_humidity_and_emc():
    """110/106 °F: 87.4 % and 17.7 % EMC (the reference computation of T4-D2, kiln_conditions_computed.csv)."""
    air = step_air((110 - 32) / 1.8, wet_bulb_c=(106 - 32) / 1.8)
    assert (air.humidity_pct, air.emc_pct) == (pytest.approx(87.4, abs=0.06), pytest.approx(17.7, abs=0.06))


@pytest.mark.parametrize("altitude_m", [0, 700, 1500, 3000])
@pytest.mark.parametrize(("dry", "wet"), [(54.0, 47.0), (43.3, 40.6), (60.0, 40.0)])
def test_higher_up_it_is_psychrolibs_air_of_that_height(altitude_m, dry, wet):
    """ASHRAE 2017 Fundamentals ch. 1, eq. 3 for the pressure, and the wet bulb's relations, by psychrolib."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    theirs_pa = psychrolib.GetStandardAtmPressure(altitude_m)
    humidity = psychrolib.GetRelHumFromTWetBulb(dry, wet, theirs_pa)
    ours = float(pressure_pa(altitude_m))
    assert ours == pytest.approx(theirs_pa, rel=1e-4)
    assert step_air(dry, wet_bulb_c=wet, pressure_pa=ours).humidity_pct == pytest.approx(humidity * 100, rel=1e-4)
    # the step is what shows that air at the sea: the same humidity and EMC
    step = step_of(30.0, dry, wet, ours)
    assert step.relative_humidity_pct == pytest.approx(humidity * 100, rel=1e-4)
    assert step.wet_bulb_c == pytest.approx(psychrolib.GetTWetBulbFromRelHum(dry, humidity, 101325), abs=0.01)
    assert wet_bulb_at(step, ours) == pytest.approx(wet, abs=0.01)


def test_the_same_air_shows_a_lower_wet_bulb_higher_up():
    step = BOOK.steps[-1]
    assert wet_bulb_at(step, float(pressure_pa(1500))) < step.wet_bulb_c - 0.3
    assert wet_bulb_at(step, 101325.0) == step.wet_bulb_c


@pytest.mark.parametrize("given", [{}, {"wet_bulb_c": 45.0, "emc_pct": 10.0}])
def test_none_or_several_figures_are_refused(given):
    with pytest.raises(ValueError, match="takes one of them"):
        step_air(50, **given)


@pytest.mark.parametrize(
    "given", [{"wet_bulb_c": 51.0}, {"wet_bulb_c": 5.0}, {"emc_pct": 40.0}, {"emc_pct": 0.1}, {"humidity_pct": 101.0}]
)
def test_air_that_there_is_not_is_refused(given):
    with pytest.raises(ValueError, match=r"wet bulb|EMC|humidity"):
        step_air(50, **given)


def test_a_schedule_is_no_harder_than_itself_and_a_milder_one_is_not():
    assert harder_than(BOOK, BOOK) == ()
    milder = replace(
        BOOK, steps=tuple(replace(step, wet_bulb_depression_k=step.wet_bulb_depression_k * 0.8) for step in BOOK.steps)
    )
    assert harder_than(milder, BOOK) == ()
    assert harder_than(BOOK, milder)


def test_it_is_told_where_and_by_how_much():
    steps = list(BOOK.steps)
    first = steps[0]
    air = step_air(first.dry_bulb_c + 4, emc_pct=first.equilibrium_moisture_pct - 3)
    steps[0] = Step(None, air.dry_bulb_c, air.dry_bulb_c - air.wet_bulb_c)
    [one] = harder_than(replace(BOOK, steps=tuple(steps)), BOOK)
    assert one.from_moisture_pct is None
    assert one.warmer_k == pytest.approx(4)
    assert one.drier_pct == pytest.approx(3, abs=0.01)


def test_a_step_taken_earlier_is_harder_between_the_two_moistures():
    steps = [BOOK.steps[0], replace(BOOK.steps[-1], from_moisture_pct=60.0)]
    found = harder_than(replace(BOOK, steps=tuple(steps)), BOOK)
    assert found[0].from_moisture_pct == 60.0
    assert all(one.drier_pct >= DRIER_PCT or one.warmer_k >= WARMER_K for one in found)
    assert BOOK.steps[-1].from_moisture_pct not in {one.from_moisture_pct for one in found}


@given(st.lists(st.floats(3, 200), min_size=1, max_size=8))
def test_steps_go_down(starts):
    assume(len(set(starts)) == len(starts))
    steps = [Step(None, 50, 5), *(Step(start, 50, 5) for start in sorted(starts, reverse=True))]
    assert list(in_order(steps)) == []
    swapped = [steps[0], *reversed(steps[1:])]
    assert list(in_order(swapped)) == list(range(2, len(steps)))


@pytest.mark.parametrize(
    ("written", "code"),
    [
        *((spelt, "T4-D2") for spelt in ("T4-D2", " t4 d2 ", "T4D2", "T 4 – d 2", "T04-D2")),
        ("t10e6", "T10-E6"),
        ("small-warm-softwood", schedules.SMALL_SOFTWOOD),
    ],
)
def test_a_code_is_known_however_it_is_spelt(written, code):
    assert written_code(written) == code


@pytest.mark.parametrize("written", ["", "oak", "T15-D2", "T4-G2", "T4-D9", "T4", "T4-D2 or so", "T4--"])
def test_what_is_no_code_is_refused_with_what_codes_look_like(written):
    with pytest.raises(ValueError, match="T1 to T14, A to F, 1 to 8, as in T4-D2"):
        written_code(written)
