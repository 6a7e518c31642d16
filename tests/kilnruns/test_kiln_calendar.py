"""The calendar: each kiln's bars where their days are, bands on their ends, nothing outside."""

from datetime import date, timedelta
from types import SimpleNamespace

import pytest

from kilnruns.templatetags.kiln_calendar import LEFT, RIGHT, kiln_calendar

FIRST = date(2026, 5, 4)


def kiln(pk=1, *closures):
    return SimpleNamespace(pk=pk, closures=SimpleNamespace(all=lambda: closures))


def run(ahead=0, days=14, low=7, high=21, kiln_id=1, started_at=None):
    start = FIRST + timedelta(days=ahead)
    band = {"days": days, "days_low": low, "days_high": high}
    return SimpleNamespace(kiln_id=kiln_id, start_on=start, volume_m3=2, started_at=started_at, **band)


def calendar(kilns, charges=(), proposals=(), days=56, today=FIRST):
    return kiln_calendar(kilns, charges, proposals, FIRST, days, today)


def bars(*args, **kwargs):
    return [drawn for line in calendar(*args, **kwargs)["lines"] for drawn in line.bars]


def test_a_bar_begins_and_ends_on_its_days():
    (drawn,) = bars([kiln()], [run(ahead=14, days=28)])
    assert float(drawn.x) == pytest.approx(LEFT + (RIGHT - LEFT) / 4, abs=0.1)
    assert float(drawn.width) == pytest.approx((RIGHT - LEFT) / 2 - 1, abs=0.1)


def test_the_band_spans_the_earliest_and_the_latest_end():
    (drawn,) = bars([kiln()], [run(days=14, low=7, high=28)])
    assert float(drawn.low_x) == pytest.approx(LEFT + (RIGHT - LEFT) / 8, abs=0.1)
    assert float(drawn.high_x) == pytest.approx(LEFT + (RIGHT - LEFT) / 2, abs=0.1)


def test_a_band_beyond_the_calendar_is_not_drawn_at_its_edge():
    (drawn,) = bars([kiln()], [run(ahead=50, days=14)])
    assert not drawn.shows_band
    assert float(drawn.x) + float(drawn.width) <= RIGHT


def test_each_kiln_has_a_row_with_its_own_bars():
    lines = calendar([kiln(1), kiln(2)], [run(kiln_id=2)], [run(ahead=20, kiln_id=1)])["lines"]
    assert [[drawn.bar.kind for drawn in line.bars] for line in lines] == [["proposal"], ["charge"]]


def test_a_closure_takes_both_its_days():
    closed = SimpleNamespace(first_day=FIRST, last_day=FIRST + timedelta(days=6))
    (drawn,) = bars([kiln(1, closed)])
    assert float(drawn.width) == pytest.approx((RIGHT - LEFT) / 8 - 1, abs=0.1)


def test_what_is_over_or_lies_beyond_is_not_shown():
    assert bars([kiln()], [run(ahead=-30, days=14), run(ahead=57)]) == []


def test_a_charge_begun_earlier_is_cut_at_the_first_day():
    (drawn,) = bars([kiln()], [run(ahead=-7, days=14)])
    assert float(drawn.x) == LEFT


def test_a_run_over_its_days_still_takes_its_kiln_today():
    (drawn,) = bars([kiln()], [run(ahead=-30, days=14, started_at=FIRST)])
    assert float(drawn.width) > 2
    assert bars([kiln()], [run(ahead=-30, days=14)]) == []


def test_neighbours_bands_do_not_lie_on_each_other():
    first, second = bars([kiln()], [run(), run(ahead=14)])
    assert first.band_y != second.band_y


def test_today_is_marked_only_when_it_is_in_the_calendar():
    assert calendar([kiln()])["today"]
    assert not calendar([kiln()], today=FIRST + timedelta(days=100))["today"]


@pytest.mark.parametrize("days", [28, 42, 56, 84])
def test_a_handful_of_weeks_is_named(days):
    assert 4 <= len(calendar([kiln()], days=days)["weeks"]) <= 6
