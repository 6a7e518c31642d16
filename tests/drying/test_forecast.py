"""The forecast of stacks: what it answers, what readings change, and what it must refuse."""

from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from multiprocessing import get_context

import numpy as np
import pytest

from drying.climate import PRESETS, Exposure
from drying.forecast import (
    Forecast,
    Method,
    ReadingInput,
    StackInput,
    Stay,
    Wood,
    forecast,
    simulate,
    simulate_all,
)
from tests.bench.bench_forecast import yard as bench_yard

OAK = Wood(560, 1, 0.41, 0.45)
SPRUCE = Wood(380, 5, 0.35, 0.45, "softwood")
INLAND = PRESETS["temperate_inland"].climate
SPRING = date(2025, 3, 1)
YARD = Stay(SPRING, INLAND, Exposure.OPEN_YARD)


def stack(**changes) -> StackInput:
    plain = StackInput("A", OAK, 27.0, SPRING, 80.0, 0.12, (YARD,), (), 20.0)
    return replace(plain, **changes)


def read(day: int, moisture_pct: float, method: Method = Method.SAMPLE_BOARD, count: int = 3) -> ReadingInput:
    return ReadingInput(SPRING + timedelta(days=day), method, moisture_pct, count)


def truly(days: tuple[int, ...], rate: float, **how) -> tuple[ReadingInput, ...]:
    """Readings without error of a stack that dries at this rate."""
    course = simulate(OAK, 27.0, SPRING, 80.0, [YARD], rate=rate, days=max(days))
    return tuple(read(day, course.on(SPRING + timedelta(days=day)), **how) for day in days)


def one(given: StackInput, **how) -> Forecast:
    return forecast([given], **how)[0]


def test_the_middle_of_a_new_stack_is_the_median_course():
    """Without readings P50 is what the median wood does, a little later for the equilibrium's usual excess."""
    course = simulate(OAK, 27.0, SPRING, 80.0, [YARD])
    found = one(stack())
    assert found.as_of == SPRING
    assert found.p50 is not None
    assert 0 <= (found.p50 - SPRING).days - course.day_reaching(20.0) <= 8
    assert found.p10 < found.p50 < found.p90
    assert not found.never
    assert found.unexpected == ()
    assert found.rate_log_mean == pytest.approx(np.log(0.41))


@pytest.mark.parametrize("rate", [0.22, 0.41, 0.75])
def test_readings_teach_the_rate(rate):
    before = one(stack())
    after = one(stack(readings=truly((15, 30, 45), rate)))
    truth = simulate(OAK, 27.0, SPRING, 80.0, [YARD], rate=rate).day_reaching(20.0)
    assert after.as_of == SPRING + timedelta(days=45)
    assert abs(after.rate_log_mean - np.log(rate)) < abs(before.rate_log_mean - np.log(rate)) + 0.1
    assert after.rate_log_sd < 0.75 * before.rate_log_sd
    assert after.p10 <= SPRING + timedelta(days=truth) <= after.p90
    assert after.unexpected == ()


def test_every_reading_narrows_the_band():
    days = (20, 35, 50)
    widths = []
    for count in range(4):
        found = one(stack(readings=truly(days, 0.41, count=10)[:count]))
        widths.append((found.p90 - found.p10).days)
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.6 * widths[0]


def test_methods_count_by_their_error():
    """More boards and better methods say more of the rate; pins on wet wood say little."""
    sd = {
        (method, count): one(stack(readings=truly((40,), 0.41, method=method, count=count))).rate_log_sd
        for method, count in ((Method.SAMPLE_BOARD, 3), (Method.PINS, 8), (Method.PINS, 3), (Method.CAPACITANCE, 8))
    }
    order = [(Method.SAMPLE_BOARD, 3), (Method.PINS, 8), (Method.CAPACITANCE, 8)]
    assert [sd[key] for key in order] == sorted(sd[key] for key in order)
    assert sd[Method.PINS, 8] < sd[Method.PINS, 3]
    boards = [one(stack(readings=truly((40,), 0.41, count=count))) for count in (2, 12)]
    assert (boards[0].p90 - boards[0].p10) > (boards[1].p90 - boards[1].p10)


def test_a_reading_that_contradicts_is_marked_and_counts_less():
    honest = truly((20, 40, 60), 0.41)
    wild = ReadingInput(SPRING + timedelta(days=50), Method.SAMPLE_BOARD, 75.0, 3)
    found = one(stack(readings=(wild, *honest)))
    plain = one(stack(readings=honest))
    assert found.unexpected == (0,)
    assert found.surprise[0] > 3
    assert all(abs(z) < 3 for z in found.surprise[1:])
    assert abs((found.p50 - plain.p50).days) < 30


def test_the_order_in_which_readings_are_given_does_not_matter():
    readings = truly((20, 40, 60), 0.3)
    forward, backward = (one(stack(readings=given)) for given in (readings, readings[::-1]))
    assert forward.p50 == backward.p50
    assert forward.surprise == backward.surprise[::-1]


def test_two_readings_on_the_last_day_both_count():
    earlier = truly((20, 40), 0.41)
    dry, wet = read(60, 24.0), read(60, 30.0)
    low, both, high = (one(stack(readings=(*earlier, *last))) for last in ((dry,), (dry, wet), (wet,)))
    assert low.moisture_on(low.as_of)[1] < both.moisture_on(both.as_of)[1] < high.moisture_on(high.as_of)[1]


def test_a_target_below_what_the_place_can_reach_is_refused_with_the_figure():
    found = one(stack(target_pct=12.0, readings=truly((20, 40), 0.41)))
    assert found.never
    assert (found.p10, found.p50, found.p90, found.probability) == (None, None, None, ())
    assert found.reachable_pct + 1 > 12.0
    assert found.moisture_on(SPRING + timedelta(days=180))[1] > found.reachable_pct
    margin = one(stack(target_pct=found.reachable_pct + 1.01))
    assert not margin.never


def test_what_may_not_be_ready_within_the_horizon_stays_open():
    found = one(stack(thickness_mm=60.0, target_pct=15.0), horizon_days=500)
    assert found.p90 is None
    assert found.chance_by(date(2040, 1, 1)) < 0.9
    assert one(stack(thickness_mm=80.0), horizon_days=60).p10 is None


def test_a_stack_that_is_dry_already_is_ready_today():
    found = one(stack(initial_moisture_pct=15.0, initial_log_sd=0.02))
    assert (found.p10, found.p50, found.p90) == (SPRING, SPRING, SPRING)
    assert found.probability[-1] == (SPRING.toordinal(), 1.0)


def test_the_chance_rises_day_by_day_and_agrees_with_the_quantiles():
    found = one(stack(readings=truly((20, 40), 0.41)))
    days, chances = zip(*found.probability, strict=True)
    assert list(days) == sorted(set(days))
    assert list(chances) == sorted(chances)
    assert found.chance_by(found.as_of) == 0
    for quantile, day in ((0.1, found.p10), (0.5, found.p50), (0.9, found.p90)):
        assert found.chance_by(day) >= quantile - 1e-9
        assert found.chance_by(day - timedelta(days=4)) < quantile + 0.05


def test_near_a_winter_the_chance_stands_still():
    """A stack that may just be ready in autumn, or else next spring: hardly any chance lies between."""
    found = one(stack(start=date(2025, 5, 20), stays=(replace(YARD, start=date(2025, 5, 20)),), thickness_mm=45.0))
    autumn, winter, spring = (
        found.chance_by(day) for day in (date(2025, 11, 20), date(2026, 2, 20), date(2026, 6, 20))
    )
    assert 0.2 < autumn < 0.9
    assert winter - autumn < 0.1
    assert spring - winter > 0.15


def test_the_curve_has_past_and_future_and_keeps_its_order():
    found = one(stack(readings=truly((30, 60), 0.41)))
    days = np.array(found.curve_days)
    low, middle, high = (np.array(c) for c in (found.curve_p10_pct, found.curve_p50_pct, found.curve_p90_pct))
    assert (np.diff(days) > 0).all()
    assert days[0] == SPRING.toordinal()
    assert found.as_of.toordinal() in days
    assert days[-1] >= found.as_of.toordinal() + 365
    assert (low <= middle).all()
    assert (middle <= high).all()
    today = list(days).index(found.as_of.toordinal())
    assert abs(middle[today] - middle[today - 1]) < 8  # no leap where the past meets the future
    assert found.moisture_on(date(2000, 1, 1)) == (low[0], middle[0], high[0])
    assert found.moisture_on(date(2100, 1, 1)) == (low[-1], middle[-1], high[-1])


def test_the_ready_day_is_where_the_curve_meets_the_target():
    found = one(stack(readings=truly((30, 60), 0.35)))
    assert found.moisture_on(found.p50)[1] == pytest.approx(20.0, abs=0.5)
    assert found.moisture_on(found.p90)[2] == pytest.approx(20.0, abs=1.0)
    assert found.moisture_on(found.p10)[0] == pytest.approx(20.0, abs=1.0)


def test_a_move_changes_what_is_ahead():
    """Into a closed store: slower while wet (no wind), drier in the end (its air is drier)."""
    moved = (YARD, Stay(SPRING + timedelta(days=30), INLAND, Exposure.CLOSED_STORE))
    stays, goes = one(stack()), one(stack(stays=moved))
    assert goes.reachable_pct < stays.reachable_pct
    assert goes.moisture_on(SPRING + timedelta(days=29))[1] == pytest.approx(
        stays.moisture_on(SPRING + timedelta(days=29))[1], abs=0.3
    )
    upland = (YARD, Stay(SPRING + timedelta(days=30), PRESETS["cool_upland"].climate, Exposure.OPEN_YARD))
    assert one(stack(stays=upland)).p50 > stays.p50


def test_shelter_slows_and_adds_doubt():
    shelters = (Exposure.OPEN_YARD, Exposure.ROOFED_SHED, Exposure.CLOSED_STORE)
    sheltered = [one(stack(stays=(replace(YARD, exposure=exposure),))) for exposure in shelters]
    losses = [found.moisture_on(SPRING + timedelta(days=20))[1] for found in sheltered]
    assert losses == sorted(losses)
    assert [found.rate_log_sd for found in sheltered] == sorted(found.rate_log_sd for found in sheltered)


def test_thicker_wetter_and_slower_stacks_are_later():
    def days(**changes):
        return one(stack(**changes)).p50

    assert days(thickness_mm=22.0) < days() < days(thickness_mm=32.0)
    assert days(initial_moisture_pct=60.0) < days() < days(initial_moisture_pct=95.0)
    assert days(rate_log_shift=0.3) < days() < days(rate_log_shift=-0.3)
    assert days(target_pct=25.0) < days() < days(target_pct=18.0)


def test_what_it_loses_now():
    """Green in spring it loses about a point a day, at 25 % some tenths; a dry stack in winter none to speak of."""
    green, later = one(stack()), one(stack(readings=truly((60, 75), 0.41)))
    assert 0.5 < green.loss_pct_per_day < 2.5
    assert 0.1 < later.loss_pct_per_day < green.loss_pct_per_day
    dry = Stay(date(2025, 11, 1), INLAND, Exposure.OPEN_YARD)
    still = one(stack(start=dry.start, stays=(dry,), initial_moisture_pct=17.0))
    assert abs(still.loss_pct_per_day) < 0.1


def mixed_yard() -> list[StackInput]:
    rng = np.random.default_rng(5)
    stacks = []
    for i in range(24):
        begin = SPRING + timedelta(days=int(rng.integers(0, 200)))
        readings = tuple(
            ReadingInput(begin + timedelta(days=20 + 15 * j), Method.PINS, 55.0 - 12 * j, 8) for j in range(i % 4)
        )
        stacks.append(
            StackInput(
                f"S{i}",
                (OAK, SPRUCE)[i % 2],
                float(rng.choice([22, 27, 40, 55])),
                begin,
                75.0,
                0.12,
                (Stay(begin, INLAND, list(Exposure)[i % 3]),),
                readings,
                20.0,
            )
        )
    return stacks


def test_alone_or_among_others_it_is_the_same():
    stacks = mixed_yard()
    together = forecast(stacks)
    assert [found.key for found in together] == [given.key for given in stacks]
    assert forecast(stacks) == together
    for given, found in zip(stacks[::3], together[::3], strict=True):
        alone = one(given)
        assert (alone.p10, alone.p50, alone.never) == (found.p10, found.p50, found.never)
        assert alone.curve_days == found.curve_days
        assert alone.curve_p50_pct == pytest.approx(found.curve_p50_pct, abs=0.01)
        assert alone.surprise == pytest.approx(found.surprise, abs=1e-3)


def test_no_stacks_no_forecasts():
    assert forecast([]) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"thickness_mm": 2.0}, "thickness 2 mm"),
        ({"initial_moisture_pct": 0.8}, "initial moisture content 0.8 %"),
        ({"target_pct": 2.0}, "target moisture content 2 %"),
        ({"stays": ()}, "no place is known"),
        ({"stays": (replace(YARD, start=date(2025, 4, 1)),)}, "no place is known for its first day, 2025-03-01"),
        ({"stays": (YARD, replace(YARD, start=date(2025, 2, 1)))}, "not in order of time"),
        ({"readings": (read(-3, 70.0),)}, "the reading of 2025-02-26 is older than the stack"),
    ],
)
def test_a_stack_that_cannot_be_says_why(changes, said):
    with pytest.raises(ValueError, match=said):
        stack(**changes)


def test_a_reading_and_a_horizon_that_cannot_be():
    with pytest.raises(ValueError, match="moisture content read -1 %"):
        read(3, -1.0)
    with pytest.raises(ValueError, match="number of boards read 0"):
        read(3, 20.0, count=0)
    with pytest.raises(ValueError, match="horizon of 5 days"):
        forecast([stack()], horizon_days=5)


def test_a_learned_spread_takes_the_place_of_the_books():
    """It holds the exposure's uncertainty already, and a narrower one gives a narrower band."""
    book, learned = (one(stack(rate_log_sd=sd)) for sd in (None, 0.3))
    assert (book.rate_log_sd, learned.rate_log_sd) == pytest.approx((0.45, 0.3))
    assert learned.p10 > book.p10 and learned.p90 < book.p90 and learned.p50 == book.p50
    with pytest.raises(ValueError, match="spread of the rate"):
        stack(rate_log_sd=0)


def test_courses_of_many_are_those_of_each():
    thin = [given for given in mixed_yard() if given.thickness_mm < 50][:3]
    for given, course in zip(thin, simulate_all(thin, days=90), strict=True):
        single = simulate(given.wood, given.thickness_mm, given.start, 75.0, given.stays, days=90)
        assert course.moisture_pct[-1] == pytest.approx(single.moisture_pct[-1], abs=0.01)
        assert course.days == single.days
    assert single.day_reaching(80.0) == 0.0
    assert single.day_reaching(3.0) is None
    with pytest.raises(ValueError, match="thinner and thicker than 50 mm"):
        simulate_all([stack(), stack(thickness_mm=60.0)])


def test_any_cutting_into_batches_gives_the_same(monkeypatch):
    stacks = bench_yard(60)
    whole = forecast(stacks)
    monkeypatch.setattr("drying.forecast.CHUNK", 7)
    parts = forecast(stacks)
    assert [(one.p10, one.p50, one.p90, one.never) for one in parts] == [
        (one.p10, one.p50, one.p90, one.never) for one in whole
    ]
    for one, other in zip(parts, whole, strict=True):
        assert one.curve_p50_pct == pytest.approx(other.curve_p50_pct, abs=1e-3)


def test_other_processes_give_the_same(monkeypatch):
    monkeypatch.setattr("drying.forecast.SHARED_CHUNK", 20)
    stacks = bench_yard(60)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        shared = forecast(stacks, pool=pool)
    assert [one.key for one in shared] == [one.key for one in stacks]
    assert [(one.p10, one.p50, one.p90) for one in shared] == [(one.p10, one.p50, one.p90) for one in forecast(stacks)]
