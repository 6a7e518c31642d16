"""Observed weather: the air of logged days, rain, gaps, several rows a day, and what a log does to a forecast."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying.air import saturation_pressure_pa
from drying.climate import PRESETS, Climate, Exposure, air_of_year, day_of_year
from drying.diffusion import YARD_TRANSFER_M_S, start
from drying.forecast import Method, ReadingInput, StackInput, Stay, Wood, forecast, simulate_all
from drying.forecasting.calibrate import boards_of
from drying.forecasting.walk import Walk, Whereabouts, stride_days
from drying.weather import LONGEST_STEP_DAYS, Day, Log, daily, gaps, mean_of_hours, observed_air
from drying.wood import equilibrium_moisture_pct

OAK = Wood(560, 1, 0.41, 0.45)
SPRUCE = Wood(380, 5, 0.35, 0.45, "softwood")
INLAND = PRESETS["temperate_inland"].climate
SPRING = date(2025, 3, 1)
YARD = Stay(SPRING, INLAND, Exposure.OPEN_YARD)


def log(count: int, temperature_c: float = 12.0, humidity_pct: float = 75.0, rain_mm: float | None = None) -> Log:
    return Log.of(Day(SPRING + timedelta(days=i), temperature_c, humidity_pct, rain_mm) for i in range(count))


def usual_log(count: int) -> Log:
    """A log that says what the climate says: only the knowledge is new."""
    seen = daily(INLAND, None, SPRING, count)
    rows = zip(seen.temperature_c, seen.relative_humidity_pct, strict=True)
    return Log.of(Day(SPRING + timedelta(days=i), float(t), float(h)) for i, (t, h) in enumerate(rows))


def stack(weather: Log | None = None, exposure: Exposure = Exposure.OPEN_YARD, **changes) -> StackInput:
    stay = Stay(SPRING, INLAND, exposure, weather)
    return replace(StackInput("A", OAK, 27.0, SPRING, 80.0, 0.12, (stay,), (), 20.0), **changes)


def days_to(given: StackInput, target_pct: float = 25.0, days: int = 600) -> float:
    found = simulate_all([given], days=days)[0].day_reaching(target_pct)
    assert found is not None
    return found


def test_a_log_keeps_its_days_in_order_and_refuses_none_or_a_day_twice():
    first, second = Day(SPRING, 5, 80), Day(SPRING + timedelta(days=1), 6, 81)
    made = Log.of([second, first])
    assert (made.days, made.first, made.last) == ((first, second), SPRING, SPRING + timedelta(days=1))
    assert made == Log.of([first, second])
    assert hash(made) == hash(Log.of([first, second]))
    with pytest.raises(ValueError, match="2025-03-01 twice"):
        Log.of([first, replace(first, temperature_c=7.0)])
    with pytest.raises(ValueError, match="at least one day"):
        Log.of([])


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ((51.0, 60.0, None), "temperature 51 °C is outside -40 to 50 °C"),
        ((10.0, 0.6, None), "humidity 0.6 % is outside 1 to 100 %"),
        ((10.0, 101.0, None), "humidity 101 %"),
        ((10.0, 60.0, -1.0), "rain -1 mm is outside 0 to 500 mm"),
        ((float("nan"), 60.0, None), "temperature nan"),
    ],
)
def test_an_impossible_day_is_refused_by_name_value_and_range(values, said):
    with pytest.raises(ValueError, match=said):
        Day(SPRING, *values)


def test_hours_are_averaged_by_their_vapour_pressure():
    """Against psychrolib (ASHRAE 2017 ch. 1): the day's air holds the mean of the hours' vapour."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    temperatures, humidities = [4.0, 9.0, 22.0, 13.0], [98.0, 85.0, 40.0, 70.0]
    mean_c, humidity = mean_of_hours(temperatures, humidities)
    vapour = [psychrolib.GetVapPresFromRelHum(t, h / 100) for t, h in zip(temperatures, humidities, strict=True)]
    assert mean_c == pytest.approx(12.0)
    assert humidity == pytest.approx(100 * np.mean(vapour) / psychrolib.GetSatVapPres(12.0), rel=1e-6)
    assert humidity < np.mean(humidities)  # the mean of the humidities overrates the cold hours


@given(st.lists(st.tuples(st.floats(-20, 40), st.floats(5, 100)), min_size=1, max_size=24))
def test_the_mean_of_hours_is_possible_air(hours):
    mean_c, humidity = mean_of_hours([t for t, _ in hours], [h for _, h in hours])
    vapour = np.mean([h * float(saturation_pressure_pa(t)) for t, h in hours])
    assert 0 < humidity <= 100
    assert humidity * float(saturation_pressure_pa(mean_c)) <= vapour * (1 + 1e-9)


def test_gaps_are_told_by_their_first_and_last_day():
    days = [SPRING + timedelta(days=i) for i in (0, 1, 3, 9)]
    missing = [tuple((day - SPRING).days for day in gap) for gap in gaps(days)]
    assert missing == [(2, 2), (4, 8)]
    assert gaps([SPRING]) == gaps([]) == []


def test_the_log_counts_where_it_has_a_day_and_the_climate_elsewhere():
    rows = [Day(SPRING + timedelta(days=i), 30.0, 35.0, 2.0) for i in (0, 2)]
    seen = daily(INLAND, Log.of(rows), SPRING - timedelta(days=1), 5)
    usual = daily(INLAND, None, SPRING - timedelta(days=1), 5)
    assert seen.observed.tolist() == [False, True, False, True, False]
    assert not usual.observed.any()
    assert seen.temperature_c[[1, 3]].tolist() == [30.0, 30.0]
    assert seen.temperature_c[[0, 2, 4]] == pytest.approx(usual.temperature_c[[0, 2, 4]])
    assert seen.rain_mm[1] == 2.0
    assert np.isnan(seen.rain_mm[[0, 2, 4]]).all()


def test_the_air_of_a_stretch_is_the_mean_of_its_days():
    rows = [Day(SPRING, 5.0, 90.0), Day(SPRING + timedelta(days=1), 15.0, 60.0)]
    seen = observed_air(INLAND, Exposure.OPEN_YARD, Log.of(rows))
    at = SPRING.toordinal() - seen.first_day
    mean_c, humidity = mean_of_hours([5.0, 15.0], [90.0, 60.0])
    both = seen.count + at
    assert seen.air.temperature_c[[at, both]].tolist() == [5.0, mean_c]
    assert seen.air.equilibrium[at] == pytest.approx(float(equilibrium_moisture_pct(5.0, 90.0)) / 100)
    assert seen.air.equilibrium[both] == pytest.approx(float(equilibrium_moisture_pct(mean_c, humidity)) / 100)
    assert seen.share[[at, both, 2 * seen.count + at]] == pytest.approx([1, 1, 2 / 3])
    assert len(seen.share) == LONGEST_STEP_DAYS * seen.count


def test_beside_the_log_the_air_is_the_usual_years():
    """A stack that was dry before the log begins never meets it; one of whose days none is logged dries as without."""
    late = Log.of(Day(SPRING + timedelta(days=i), 35.0, 30.0) for i in range(500, 520))
    assert days_to(stack(late)) == days_to(stack())


def test_a_log_that_says_what_the_climate_says_changes_no_course():
    with_log, without = days_to(stack(usual_log(400))), days_to(stack())
    assert with_log == pytest.approx(without, abs=0.1)


@pytest.mark.parametrize(("temperature_c", "humidity_pct", "sooner"), [(18.0, 55.0, True), (3.0, 92.0, False)])
def test_a_dry_spring_dries_and_a_damp_one_does_not(temperature_c, humidity_pct, sooner):
    assert (days_to(stack(log(300, temperature_c, humidity_pct))) < days_to(stack())) == sooner


def days_by_long_steps(given: StackInput, target_pct: float) -> float:
    """The median course in the forecast's own steps, of up to a week."""
    boards = boards_of([given], np.array([[given.wood.rate]]), np.full((1, 1), YARD_TRANSFER_M_S))
    begin = np.array([float(given.start.toordinal())])
    state = start(boards, np.array([[given.initial_moisture_pct / 100]]))
    walk = Walk(Whereabouts.of([given], 600), np.arange(1), boards, state, begin, 0)
    days, moisture = [0.0], [given.initial_moisture_pct]
    while moisture[-1] > target_pct:
        walk.advance(stride_days(walk.day - begin, walk.loss_per_day), np.full((1, 1), np.inf))
        days.append(float((walk.day - begin)[0]))
        moisture.append(100 * float(walk.state.average[0, 0]))
    return float(np.interp(-target_pct, -np.array(moisture), days))


def test_steps_of_many_days_meet_the_daily_course():
    """In weather that jumps from day to day, steps on its mean air end near daily ones, of 60 to 140 days."""
    rng = np.random.default_rng(4)
    late = []
    for i in range(4):
        days = [SPRING + timedelta(days=day) for day in range(400)]
        rows = [Day(day, float(rng.normal(12, 4)), float(rng.uniform(50, 95))) for day in days]
        wood, green = ((OAK, 80.0), (SPRUCE, 90.0))[i % 2]
        given = stack(Log.of(rows), wood=wood, initial_moisture_pct=green)
        late.append(days_by_long_steps(given, 20.0) - days_to(given, 20.0))
    assert np.abs(late).max() < 5


def test_rain_on_an_uncovered_stack_holds_its_surface_at_saturation():
    wet = observed_air(INLAND, Exposure.UNCOVERED, log(20, rain_mm=6.0))
    at = SPRING.toordinal() - wet.first_day
    assert wet.air.equilibrium[at] == pytest.approx(wet.air.saturation[at])
    assert wet.air.activity[at] == 1
    for exposure, rain in ((Exposure.OPEN_YARD, 6.0), (Exposure.UNCOVERED, 0.4)):
        dry = observed_air(INLAND, exposure, log(20, rain_mm=rain))
        assert dry.air.equilibrium[at] == pytest.approx(float(equilibrium_moisture_pct(12.0, 75.0)) / 100)


def test_rain_keeps_green_wood_wet_and_wets_dry_wood_again():
    rained = simulate_all([stack(log(60, rain_mm=6.0), Exposure.UNCOVERED)], days=60)[0]
    assert rained.moisture_pct[-1] > 79  # only the last half day of the log leads over to usual air
    dry = stack(log(60, rain_mm=6.0), Exposure.UNCOVERED, initial_moisture_pct=14.0)
    wetted = simulate_all([dry], days=50)[0].moisture_pct
    assert wetted[-1] > 20
    assert max(wetted) < 29  # liquid water beyond fibre saturation is not taken up


def test_more_rain_never_dries_sooner():
    moistures = []
    for rainy in range(8):
        rows = [Day(SPRING + timedelta(days=i), 12.0, 70.0, 5.0 if i % 7 < rainy else 0.0) for i in range(80)]
        moistures.append(simulate_all([stack(Log.of(rows), Exposure.UNCOVERED)], days=60)[0].moisture_pct[-1])
    assert moistures == sorted(moistures)
    assert moistures[7] > moistures[0] + 20


def test_where_no_rain_was_measured_an_uncovered_stack_dries_later_and_is_less_certain():
    covered, bare = forecast([stack(), stack(exposure=Exposure.UNCOVERED)])
    assert bare.p50 > covered.p50
    assert bare.rate_log_sd > covered.rate_log_sd
    unmeasured = observed_air(INLAND, Exposure.UNCOVERED, log(5))
    year = air_of_year(Climate((12.0,) * 12, (75.0,) * 12), Exposure.UNCOVERED)
    at = SPRING.toordinal() - unmeasured.first_day
    assert unmeasured.air.equilibrium[at] == pytest.approx(year.equilibrium[day_of_year(np.array([1]))[0]])


def test_closing_a_shed_changes_the_surfaces_from_that_day_on():
    closed_on = SPRING + timedelta(days=40)
    shed = replace(YARD, exposure=Exposure.ROOFED_SHED)
    open_all, closed = (
        simulate_all([stack(stays=stays)], days=120)[0]
        for stays in ((shed,), (shed, Stay(closed_on, INLAND, Exposure.CLOSED_STORE)))
    )
    assert closed.on(closed_on) == pytest.approx(open_all.on(closed_on), abs=1e-4)
    assert closed.on(closed_on + timedelta(days=20)) > open_all.on(closed_on + timedelta(days=20)) + 1


def width(given: StackInput) -> int:
    found = forecast([given])[0]
    assert found.p10 is not None
    assert found.p90 is not None
    return (found.p90 - found.p10).days


def read(day: int, moisture_pct: float) -> ReadingInput:
    return ReadingInput(SPRING + timedelta(days=day), Method.SAMPLE_BOARD, moisture_pct, 4)


def test_weather_that_is_known_narrows_the_way_ahead_and_the_past():
    """The same air as the climate's, once as knowledge: the middle stays, the band gets narrower, little by little."""
    course = simulate_all([stack()], days=100)[0]
    readings = tuple(read(day, course.on(SPRING + timedelta(days=day))) for day in (20, 50))
    widths = [width(stack(known, readings=readings)) for known in (None, usual_log(50), usual_log(80), usual_log(600))]
    assert widths[3] < widths[2] < widths[1] <= widths[0] + 1  # whole days
    assert widths[3] > 0.6 * widths[0]  # most of the doubt is the wood's, not the weather's
    middles = [forecast([stack(known, readings=readings)])[0].p50 for known in (None, usual_log(600))]
    assert abs((middles[1] - middles[0]).days) <= 2


def test_readings_in_odd_weather_are_no_longer_laid_at_the_woods_door():
    """A stack that dried fast in a hot spring: with the log its wood is taken for what it is."""
    hot = log(60, 22.0, 50.0)
    course = simulate_all([stack(hot)], days=60)[0]
    readings = tuple(read(day, course.on(SPRING + timedelta(days=day))) for day in (20, 40))
    knowing, guessing = forecast([stack(hot, readings=readings), stack(readings=readings)])
    middle = np.log(OAK.rate)
    assert abs(knowing.rate_log_mean - middle) < 0.08 < guessing.rate_log_mean - middle


def changeable(rng: np.random.Generator, count: int) -> list[Day]:
    """Spells of warm and cold, damp and dry, about 12 °C and 72 %."""
    temperature, humidity = (12 + np.cumsum(rng.normal(0, 1, count)) % 8 - 4 for _ in range(2))
    rows = zip(temperature.tolist(), (36 + 3 * humidity).tolist(), strict=True)
    return [Day(SPRING + timedelta(days=i), *row) for i, row in enumerate(rows)]


def test_the_narrower_band_still_covers():
    """Truth by the model itself at rates off its median; its weather is logged up to 30 days after two readings."""
    rng = np.random.default_rng(8)
    true, known = [], []
    for i in range(50):
        rows, wood = changeable(rng, 400), (OAK, SPRUCE)[i % 2]
        green = 80 * float(np.exp(0.12 * rng.normal()))
        off = 0.45 * float(rng.normal())
        true.append(stack(Log.of(rows), wood=wood, initial_moisture_pct=green, rate_log_shift=off))
        known.append(stack(Log.of(rows[:70]), wood=wood))
    courses = simulate_all(true, days=390)
    ready = [course.day_reaching(20.0) for course in courses]
    noise = rng.normal(0, 0.7, (len(true), 2))
    read_from = [
        replace(given_, readings=tuple(read(day, course.on(SPRING + timedelta(days=day)) + error) for day, error in at))
        for given_, course, at in zip(known, courses, ([(20, a), (40, b)] for a, b in noise.tolist()), strict=True)
    ]
    left = [(one, day) for one, day in zip(read_from, ready, strict=True) if day is not None and day > 40]
    found = forecast([one for one, _day in left])
    ends = [[(end - SPRING).days if end else 999 for end in (one.p10, one.p90)] for one in found]
    hits = [low <= day <= high for (low, high), (_one, day) in zip(ends, left, strict=True)]
    assert len(hits) > 30
    assert np.mean(hits) > 0.75


def test_a_stack_with_a_log_is_forecast_the_same_alone_and_among_others():
    others = [stack(), stack(log(90, 20.0, 50.0)), stack(log(30), Exposure.UNCOVERED), stack(usual_log(200))]
    together = forecast(others)
    assert [forecast([alone])[0].p50 for alone in others] == [found.p50 for found in together]


def test_a_log_of_another_place_reaches_a_stack_only_while_it_stands_there():
    moved = SPRING + timedelta(days=30)
    hot = Stay(moved, INLAND, Exposure.OPEN_YARD, log(200, 28.0, 40.0))
    before, after = (simulate_all([stack(stays=stays)], days=60)[0] for stays in ((YARD,), (YARD, hot)))
    assert after.on(moved) == pytest.approx(before.on(moved), abs=1e-4)
    assert after.on(moved + timedelta(days=20)) < before.on(moved + timedelta(days=20)) - 3
