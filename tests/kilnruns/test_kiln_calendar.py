"""The calendar: each kiln's bars where their days are, bands on their ends, days without loading, nothing outside."""

from datetime import date, timedelta
from types import SimpleNamespace

import pytest
from django.template.loader import render_to_string

from kilnruns.models import DayOff, PlanningRules
from kilnruns.planning.horizon import BEYOND_DAYS, Horizon, horizon_of
from kilnruns.templatetags.kiln_calendar import DAY, kiln_calendar

FIRST = date(2026, 5, 4)  # a Monday
WOOD = SimpleNamespace(species=SimpleNamespace(name="Scots pine"), thickness_mm=27.0)
LOAD = SimpleNamespace(all=lambda: [SimpleNamespace(stack=WOOD)])


def kiln(pk=1, *closures):
    return SimpleNamespace(pk=pk, closures=SimpleNamespace(all=lambda: closures))


def closed(ahead, last):
    days = [FIRST + timedelta(days=day) for day in (ahead, last)]
    return SimpleNamespace(pk=7, first_day=days[0], last_day=days[1], reason="Lent")


def run(ahead=0, days=14, low=7, high=21, kiln_id=1, started_at=None):
    start = FIRST + timedelta(days=ahead)
    band = {"days": days, "days_low": low, "days_high": high}
    rest = {"pk": 5, "volume_m3": 2, "started_at": started_at, "stacks": LOAD, "shares": LOAD}
    return SimpleNamespace(kiln_id=kiln_id, start_on=start, **band, **rest)


def horizon(days=56, today=FIRST, off=()):
    known = range(days + BEYOND_DAYS)
    loads = [(FIRST + timedelta(days=day)).weekday() < 6 for day in known]
    return Horizon(FIRST, days, today, loads, [day in off for day in known])


def calendar(kilns, charges=(), proposals=(), is_owner=False, **kwargs):
    reader = SimpleNamespace(is_authenticated=True, is_staff=is_owner, _role="operator")
    return kiln_calendar(kilns, charges, proposals, horizon(**kwargs), reader)


def bars(*args, **kwargs):
    return [drawn for line in calendar(*args, **kwargs)["lines"] for drawn in line.bars]


@pytest.mark.parametrize("days", [28, 56, 112])
def test_a_bar_begins_and_ends_on_its_days_on_one_scale_for_all_plans(days):
    (drawn,) = bars([kiln()], [run(ahead=14, days=28)], days=days)
    assert float(drawn.x) == 14 * DAY
    assert float(drawn.width) == 28 * DAY - 1
    assert drawn.shows_words and drawn.short == "Scots pine 27\u202fmm"


def test_a_run_of_five_days_is_a_finger_wide_and_says_its_volume():
    (drawn,) = bars([kiln()], [run(days=5)], days=112)
    assert float(drawn.width) >= 48
    assert drawn.shows_words


def test_words_that_do_not_fit_are_cut_and_stand_whole_in_the_table():
    (drawn,) = bars([kiln()], [run(days=6)])
    assert drawn.short.endswith("…") and len(drawn.short) < len(drawn.words)


def test_the_band_spans_the_earliest_and_the_latest_end():
    (drawn,) = bars([kiln()], [run(days=14, low=7, high=28)])
    assert (float(drawn.low_x), float(drawn.high_x)) == (7 * DAY, 28 * DAY)


def test_the_last_runs_are_followed_to_their_ends_in_whole_weeks():
    shown = calendar([kiln()], [run(ahead=50, days=14, high=20)])
    assert shown["last"] == FIRST + timedelta(days=70)
    (drawn,) = shown["lines"][0].bars
    assert float(drawn.x) + float(drawn.width) < float(shown["width"]) and drawn.shows_band


def test_a_band_far_beyond_the_calendar_is_not_drawn_at_its_edge():
    (drawn,) = bars([kiln()], [run(ahead=50, days=90, low=80, high=100)])
    assert not drawn.shows_band
    assert float(drawn.x) + float(drawn.width) <= (56 + BEYOND_DAYS) * DAY


def test_each_kiln_has_a_row_with_its_own_bars():
    lines = calendar([kiln(1), kiln(2)], [run(kiln_id=2)], [run(ahead=20, kiln_id=1)])["lines"]
    assert [[drawn.bar.kind for drawn in line.bars] for line in lines] == [["proposal"], ["charge"]]


def test_bars_lead_to_their_charge_and_proposal_and_closures_owners_alone():
    args = [kiln(1, closed(40, 45))], [run()], [run(ahead=20)]
    assert [drawn.url for drawn in bars(*args)] == ["/charges/5/", "/proposals/5/", ""]
    assert bars(*args, is_owner=True)[2].url == "/closures/7/"


def test_a_closure_takes_both_its_days():
    (drawn,) = bars([kiln(1, closed(0, 6))])
    assert float(drawn.width) == 7 * DAY - 1


def test_what_is_over_or_lies_beyond_is_not_shown():
    assert bars([kiln()], [run(ahead=-30, days=14), run(ahead=57)]) == []


def test_a_charge_begun_earlier_is_cut_at_the_first_day():
    (drawn,) = bars([kiln()], [run(ahead=-7, days=14)])
    assert float(drawn.x) == 0


def test_a_run_over_its_days_still_takes_its_kiln_today():
    (drawn,) = bars([kiln()], [run(ahead=-30, days=14, started_at=FIRST)])
    assert float(drawn.width) > 2
    assert bars([kiln()], [run(ahead=-30, days=14)]) == []


def test_neighbours_bands_do_not_lie_on_each_other():
    first, second = bars([kiln()], [run(), run(ahead=14)])
    assert first.band_y != second.band_y


def test_days_without_loading_and_days_off_are_drawn_each_in_its_way():
    free = calendar([kiln()], days=28, off=(9, 10))["free"]
    found = [(float(one.x) / DAY, float(one.width) / DAY, one.is_off) for one in free]
    assert found == [(6, 1, False), (9, 2, True), (13, 1, False), (20, 1, False), (27, 1, False)]


def test_today_is_marked_only_when_it_is_in_the_calendar():
    assert calendar([kiln()])["today"]
    assert not calendar([kiln()], today=FIRST + timedelta(days=100))["today"]


@pytest.mark.parametrize("days", [28, 42, 56, 84, 112])
def test_each_monday_is_named(days):
    assert len(calendar([kiln()], days=days)["weeks"]) == days / 7


def test_it_can_be_moved_by_keys_and_each_bar_is_named_in_words():
    text = render_to_string("kilnruns/_calendar.html", calendar([kiln()], [run()]))
    assert 'class="scroll" tabindex="0" role="region" aria-label="Calendar of the kilns from' in text
    words = text.partition('<a href="/charges/5/" aria-label="')[2].partition('"')[0]
    assert words.strip().endswith("charge, Scots pine 27\u202fmm, 2.0\u202fm³, from 4 May to about 18 May")


def test_an_empty_calendar_says_so():
    assert "Nothing takes the kilns" in render_to_string("kilnruns/_calendar.html", calendar([kiln()]))


@pytest.mark.django_db
def test_a_plan_s_calendar_begins_in_the_week_of_today(django_assert_num_queries):
    plan = SimpleNamespace(first_day=FIRST, horizon_days=56)
    DayOff.objects.create(first_day=date(2026, 5, 14), last_day=date(2026, 5, 15))
    PlanningRules.objects.create(pk=1, loading_days=[0, 1, 2, 3, 4])
    with django_assert_num_queries(2):
        found = horizon_of(plan, date(2026, 5, 13))
    assert (found.first, found.days) == (date(2026, 5, 11), 49)
    assert found.loads[:7] == [True] * 5 + [False] * 2
    assert [day for day, is_off in enumerate(found.off) if is_off] == [3, 4]


@pytest.mark.django_db
def test_a_plan_that_is_over_shows_its_own_days_and_the_kilns_page_those_ahead():
    plan, later = SimpleNamespace(first_day=FIRST, horizon_days=56), date(2026, 9, 2)
    assert horizon_of(plan, later).first == FIRST
    ahead = horizon_of(plan, later, to_come=True)
    assert (ahead.first, ahead.days) == (date(2026, 8, 31), 28)
