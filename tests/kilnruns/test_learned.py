"""What a kiln's finished runs teach: days predicted against days taken, between the moistures that were measured."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from kilnruns import advice
from kilnruns.planning import durations, learned
from tests.factories import ReadingFactory
from tests.kilnruns.factories import COURSE, KilnFactory, charge_of, ready_stack
from tests.yard.queries import queries_of
from yard.actions.learning import reset
from yard.models import Place, Stack

pytestmark = pytest.mark.django_db

BEGUN = datetime(2025, 7, 1, 9, tzinfo=UTC)
CURVE = {"days": [0, 4, 10], "mean_pct": [20, 14, 8]}


def run(kiln, days, *, from_pct=20.0, to_pct=8.0, before=-3, after=1, curve=CURVE, factor=1.0):
    """A done charge of one stack, read some days before it began and after it ended."""
    stack = ready_stack()
    ended = BEGUN + timedelta(days=days)
    for at, moisture in ((BEGUN + timedelta(days=before), from_pct), (ended + timedelta(days=after), to_pct)):
        ReadingFactory(stack=stack, taken_at=at, raw=[moisture] * 4)
    course = COURSE | {"run": {"curve": curve, "rate_factor": factor} if curve else {}}
    return charge_of(stack, kiln=kiln, course=course, started_at=BEGUN, unloaded_at=ended)


def test_a_run_is_held_against_its_prediction_between_the_measured_moistures():
    kiln = KilnFactory()
    run(kiln, 6, from_pct=20, to_pct=11)  # predicted: 7 days to 11 %
    found = learned.kilns_learned()[kiln.pk]
    (told,) = found.runs
    assert (told.outcome.expected_days, told.outcome.real_days) == pytest.approx((7, 6))
    assert (told.from_pct, told.to_pct) == (20, 11)
    assert 0 < found.shift.log_mean < np.log(7 / 6)


def test_what_an_earlier_factor_predicted_is_told_without_it():
    kiln = KilnFactory()
    run(kiln, 10, factor=1.25)  # predicted to take 10 days as a kiln of 1.25, and did
    (told,) = learned.kilns_learned()[kiln.pk].runs
    assert told.outcome.deviation == pytest.approx(np.log(1.25))


def test_a_run_that_was_not_read_or_not_predicted_says_nothing():
    kiln = KilnFactory()
    run(kiln, 8, before=-30)
    run(kiln, 8, after=30)
    run(kiln, 8, curve=None)
    run(kiln, 8, to_pct=3)
    half = charge_of(ready_stack(), kiln=kiln, course=COURSE | {"run": {"curve": CURVE}}, started_at=BEGUN)
    assert half.state == "drying"
    assert learned.kilns_learned() == {}


def test_most_of_the_wood_must_have_been_read():
    kiln = KilnFactory()
    charge = run(kiln, 8)
    other = ready_stack(lines=[(4000, 150, 80)])
    charge.stacks.create(stack=other, volume_m3=other.volume_m3)
    assert learned.kilns_learned() == {}


def test_a_reset_of_the_kiln_forgets_its_runs_and_no_others():
    kiln, other = KilnFactory(), KilnFactory()
    run(kiln, 8), run(other, 8)
    reset(place=kiln.place, reason="new fans", by=None, at=BEGUN + timedelta(days=60))
    found = learned.kilns_learned()
    assert [found[one.pk].shift.stacks for one in (kiln, other)] == [0, 1]
    assert found[kiln.pk].runs[0].forgotten
    assert learned.factors()[kiln.pk] == 1


def test_runs_to_come_are_computed_with_the_kilns_own_factor():
    kiln, same = KilnFactory(), KilnFactory()
    for _number in range(4):
        run(kiln, 6)
    stack = ready_stack()
    air = durations.season(list(Place.objects.none()), BEGUN.date())
    tables = durations.tables([stack], [kiln, same], air)
    quick, plain = (float(tables[stack.code, str(one.pk)].days(np.array([18.0]))[0]) for one in (kiln, same))
    assert learned.factors()[kiln.pk] > 1.2
    assert quick < plain


def test_the_predicted_curve_is_kept_with_a_charge():
    stack = ready_stack()
    charge = charge_of(Stack.objects.select_related("species", "place", "outlook").get(pk=stack.pk))
    items = list(charge.stacks.select_related("stack__species", "stack__place", "stack__outlook"))
    told = advice.course(charge, items)["run"]
    assert told["rate_factor"] == 1
    curve = told["curve"]
    assert curve["days"][0] == 0
    assert curve["days"][-1] == pytest.approx(told["days"], abs=0.1)
    assert curve["mean_pct"] == sorted(curve["mean_pct"], reverse=True)
    assert curve["mean_pct"][0] == pytest.approx(stack.outlook.moisture_on(charge.start_on)[1], abs=0.05)


def test_the_page_tells_each_kilns_runs_in_a_fixed_number_of_queries(signed_in):
    kiln = KilnFactory(place__name="Small kiln")
    text = " ".join(signed_in.get("/learned/").content.decode().split())
    assert "Nothing yet: a run teaches when" in text
    counts = []
    for more in (1, 5):
        for _number in range(more):
            run(kiln, 6)
        counts.append(queries_of(signed_in, "/learned/"))
    text = " ".join(signed_in.get("/learned/").content.decode().replace("\u202f", " ").split())
    assert "from 6 runs (" in text
    assert "20.0 % to 8.0 % in 6.0 days; 10.0 by the book" in text
    assert counts[0] == counts[1]


def test_where_nothing_was_learned_the_way_on_is_a_stack_to_read_or_one_to_tag(signed_in):
    assert 'href="/stacks/new/"' in signed_in.get("/learned/").content.decode()
    ready_stack()
    text = signed_in.get("/learned/").content.decode()
    assert "See the stacks" in text
    assert 'href="/stacks/new/"' not in text
