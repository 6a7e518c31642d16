"""What is due and when: the same as Today says, told ahead of its day."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.actions.sensing import add_device, take
from kilnruns.models import RunRecord
from kilnruns.reminding.due import AHEAD_DAYS, dues
from kilnruns.reminding.now import ABOVE_C, FRESH, act_now
from kilnruns.reminding.wording import told
from tests.factories import OutlookFactory, ReadingFactory, StackFactory
from tests.kilnruns.factories import ClosureFactory, charge_of, days_from_today, ready_stack
from tests.kilnruns.test_views_today import later_stack, running
from yard.models import Stack

pytestmark = pytest.mark.django_db


def today():
    return timezone.localdate()


def by_key(on=None):
    return {one.key: one for one in dues(on or today())}


def words(due):
    [one] = told([due])
    return one.title, one.text.replace("\u202f", " ")


def test_an_empty_yard_has_nothing_due():
    assert dues(today()) == []


def test_a_planned_charge_is_due_on_its_day():
    charge = charge_of(start_on=days_from_today(4))
    one = by_key()[f"load-{charge.pk}"]
    assert (one.first_day, one.last_day, one.is_due(today())) == (charge.start_on, charge.start_on, False)
    title, text = words(one)
    assert title == f"Load {charge.kiln}"
    assert "to start on" in text


def test_what_was_not_done_on_its_day_is_due_today_and_says_since_when():
    charge = charge_of(start_on=days_from_today(-3))
    one = by_key()[f"load-{charge.pk}"]
    assert one.first_day == today() and one.is_due(today())
    assert f"Due since {charge.start_on:%-d %B %Y}." in words(one)[1]


def test_a_run_is_weighed_each_day_until_it_is_about_done_with_its_band_in_words():
    charge = running(ago=4)
    found = by_key()
    weigh, done = found[f"weigh-{charge.pk}"], found[f"done-{charge.pk}"]
    assert (weigh.first_day, weigh.last_day, weigh.daily) == (today(), days_from_today(7), True)
    assert done.first_day == days_from_today(8)
    low, high = charge.start_on + timedelta(8), charge.start_on + timedelta(18)
    text = words(done)[1]
    assert f"{low:%-d}" in text and f"{high:%-d %B %Y}, four times in five." in text


def test_samples_weighed_today_are_due_tomorrow():
    charge = running(ago=4)
    ReadingFactory(stack=charge.stacks.first().stack, taken_at=timezone.now())
    weigh = by_key()[f"weigh-{charge.pk}"]
    assert weigh.first_day == days_from_today(1) and not weigh.is_due(today())


def test_a_run_past_its_days_is_to_be_looked_into_today():
    charge = running(ago=14)
    found = by_key()
    assert found[f"done-{charge.pk}"].is_due(today())
    assert not found[f"weigh-{charge.pk}"].daily


def test_stacks_due_a_reading_are_those_that_today_names_and_the_others_come_on_their_day():
    late, fresh = ready_stack(), later_stack()
    found = by_key()
    assert set(found["read-now"].facts["stacks"]) == set(Stack.objects.due_reading(today())) == {late}
    assert found[f"read-{days_from_today(28)}"].facts["stacks"] == [fresh]
    title, text = words(found["read-now"])
    assert title == "Read 1 stack"
    assert late.place.name in text


@pytest.mark.parametrize("ago", [27, 28])
def test_a_reading_is_due_on_the_day_on_which_today_begins_to_say_so(ago):
    stack = StackFactory()
    ReadingFactory(stack=stack, taken_at=timezone.now() - timedelta(days=ago))
    is_due = stack in Stack.objects.due_reading(today())
    assert is_due == (ago == 28) == ("read-now" in by_key())


def test_stacks_that_are_ready_stand_together_and_those_to_come_each_on_its_day_with_its_band():
    now, set_aside, later = ready_stack(), ready_stack(set_aside_for="A barn"), later_stack(ahead=30)
    found = by_key()
    assert found["ready-now"].facts["stacks"] == [now]
    one = found[f"ready-{later.pk}"]
    assert one.first_day == days_from_today(30)
    assert not one.is_due(days_from_today(30)), "told, not asked"
    assert "four times in five" in words(one)[1]
    assert set_aside not in [stack for each in found.values() if each.kind == "ready" for stack in each.facts["stacks"]]


def test_a_stack_asks_for_somebody_on_the_day_that_it_is_ready_and_then_stands_there():
    stack = ready_stack()
    assert not by_key()["ready-now"].is_due(today())
    stack.outlook.ready_p50 = today()
    stack.outlook.save()
    assert by_key()["ready-now"].is_due(today())


def test_an_open_late_end_is_told_as_such():
    stack = later_stack(ahead=30)
    stack.outlook.ready_p90 = None
    stack.outlook.save()
    assert "the late end is open" in words(by_key()[f"ready-{stack.pk}"])[1]


def test_nothing_is_told_of_stacks_that_are_ready_beyond_the_horizon():
    assert not [key for key in by_key() if key.startswith("ready-")]
    later_stack(ahead=AHEAD_DAYS + 1)
    assert not [key for key in by_key() if key.startswith("ready-")]


def test_a_stack_that_dries_too_fast_is_to_be_looked_after():
    stack = later_stack()
    stack.species.safe_rate_pct_per_day = 1.5
    stack.species.save()
    stack.outlook.curve = {
        "day": [days_from_today(-1).toordinal(), days_from_today(9).toordinal()],
        "p10": [85, 20], "p50": [90, 25], "p90": [95, 30],
    }  # fmt: skip
    stack.outlook.save()
    assert by_key()["care-now"].facts["stacks"] == [stack]


def test_a_closure_lasts_all_its_days_with_its_reason():
    closure = ClosureFactory()
    one = by_key()[f"closed-{closure.pk}"]
    assert (one.first_day, one.last_day) == (closure.first_day, closure.last_day)
    assert "Fan bearings" in words(one)[1]
    ClosureFactory(first_day=days_from_today(-5), last_day=days_from_today(-1))
    assert [key for key in by_key() if key.startswith("closed")] == [one.key]


def test_half_loaded_and_half_unloaded_kilns_are_due_today():
    stack = ready_stack()
    charge = charge_of(stack, ready_stack(), start_on=days_from_today(5))
    charge.stacks.filter(stack=stack).update(loaded_at=timezone.now())
    assert by_key()[f"loading-{charge.pk}"].is_due(today())
    other = running(ready_stack(), ready_stack(), ago=12)
    row = other.stacks.first()
    row.unloaded_at = timezone.now()
    row.save()
    assert by_key()[f"unloading-{other.pk}"].is_due(today())


def count_of(django_assert_max_num_queries):
    with django_assert_max_num_queries(60) as counted:
        told(dues(today()))
    return len(counted)


def test_thirty_stacks_and_three_charges_ask_as_often_as_one(django_assert_max_num_queries):
    def grow(times):
        for ahead in range(times):
            ready_stack()
            later_stack(ahead=20 + ahead)
            charge_of(ready_stack(), start_on=days_from_today(ahead + 1))
            running(ready_stack(), ago=3)
            ClosureFactory()

    grow(1)
    few = count_of(django_assert_max_num_queries)
    grow(3)
    for _ in range(27):
        OutlookFactory(stack=StackFactory())
    assert count_of(django_assert_max_num_queries) == few


def test_a_run_hotter_than_its_kiln_may_be_needs_somebody_at_once():
    charge, now = running(ago=2), timezone.now()
    most = charge.kiln.max_temperature_c
    record = RunRecord.objects.create(charge=charge, at=now, dry_bulb_c=most + ABOVE_C)
    assert act_now(now) == []
    record.dry_bulb_c = most + 4
    record.save()
    [one] = act_now(now)
    title, text = words(one)
    assert title == f"{charge.kiln} is too hot"
    assert f"{most + 4:.0f} °C" in text
    assert act_now(now + FRESH + timedelta(minutes=1)) == [], "what was seen long ago is not now"
    RunRecord.objects.create(charge=charge, at=now + timedelta(minutes=5), dry_bulb_c=most - 5)
    assert act_now(now + timedelta(minutes=6)) == [], "a later record lays it to rest"


def test_a_sensor_that_tells_of_heat_counts_while_its_kiln_runs():
    charge, now = running(ago=2), timezone.now()
    device, _token = add_device(kiln=charge.kiln, name="Rear wall", by=None)
    hot = {"quantity": "dry_bulb_c", "value": charge.kiln.max_temperature_c + 3, "at": now.isoformat()}
    take(device=device, rows=[hot], at=now)
    assert [one.key for one in act_now(now)] == [f"hot-{charge.pk}"]
    charge.unloaded_at = now
    charge.save()
    assert act_now(now) == []


def test_fans_that_stand_still_need_somebody_at_once_until_they_run(django_assert_max_num_queries):
    charge, now = running(ago=2), timezone.now()
    RunRecord.objects.create(charge=charge, at=now, fans="off")
    with django_assert_max_num_queries(20):
        [one] = act_now(now)
    title, text = words(one)
    assert one.key == f"fans_off-{charge.pk}"
    assert title == f"Look at {charge.kiln} now"
    assert "The fans are off" in text
    RunRecord.objects.create(charge=charge, at=now + timedelta(minutes=5), fans="running")
    assert act_now(now + timedelta(minutes=6)) == []
