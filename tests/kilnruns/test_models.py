"""What the database itself keeps right about kilns, plans and charges, tried from both sides of each rule."""

from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from kilnruns.models import Charge, ChargeStack, Closure, Plan
from tests.kilnruns.factories import ChargeFactory, ClosureFactory, KilnFactory, PlanFactory, charge_of, ready_stack

pytestmark = pytest.mark.django_db
DAY = date(2026, 5, 4)


def refused(make, **kwargs):
    with pytest.raises(IntegrityError), transaction.atomic():
        make(**kwargs)


@pytest.mark.parametrize("size", ["length_mm", "width_mm", "height_mm"])
def test_a_kiln_has_space_on_every_side(size):
    KilnFactory(**{size: 1})
    refused(KilnFactory, **{size: 0})


def test_a_kiln_has_a_heater():
    KilnFactory(heater_kw=0.1)
    refused(KilnFactory, heater_kw=0)


def test_a_place_is_one_kiln_at_most():
    kiln = KilnFactory()
    refused(KilnFactory, place=kiln.place)


def test_a_closure_may_last_one_day_but_not_run_backwards():
    ClosureFactory(first_day=DAY, last_day=DAY)
    refused(ClosureFactory, first_day=DAY, last_day=DAY - timedelta(days=1))


@pytest.mark.parametrize(
    ("ahead", "covered"), [(-1, False), (0, True), (2, True), (3, False)]
)  # fmt: skip
def test_a_closure_covers_both_its_days(ahead, covered):
    assert Closure(first_day=DAY, last_day=DAY + timedelta(days=2)).covers(DAY + timedelta(days=ahead)) is covered


def test_a_charges_days_lie_within_their_band():
    kiln = KilnFactory()
    ChargeFactory(kiln=kiln, days=12, days_low=12, days_high=12)
    refused(ChargeFactory, kiln=kiln, days=12, days_low=13, days_high=14)
    refused(ChargeFactory, kiln=kiln, days=12, days_low=10, days_high=11)


def test_a_stack_is_in_a_charge_once_but_may_be_in_a_later_one():
    stack = ready_stack()
    charge = charge_of(stack)
    refused(ChargeStack.objects.create, charge=charge, stack=stack, volume_m3=1)
    charge_of(stack)
    assert stack.charge_stacks.count() == 2


def test_a_charge_ends_its_days_after_its_start():
    assert ChargeFactory(start_on=DAY, days=12).ends_on == date(2026, 5, 16)


def test_a_charges_state_follows_from_what_was_done():
    charge = charge_of(ready_stack(), ready_stack())
    now = timezone.now()
    states = [charge.state]
    charge.stacks.update(loaded_at=now)
    states.append(charge.state)
    for field in ("started_at", "unloaded_at", "called_off_at"):
        setattr(charge, field, now)
        states.append(charge.state)
    assert states == ["planned", "loading", "drying", "done", "called_off"]


def test_charges_ahead_are_those_neither_unloaded_nor_called_off():
    now, kiln = timezone.now(), KilnFactory()
    ahead = charge_of(kiln=kiln)
    charge_of(kiln=kiln, unloaded_at=now)
    charge_of(kiln=kiln, called_off_at=now)
    assert list(Charge.objects.ahead()) == [ahead]


def test_a_charge_is_in_the_kiln_from_its_first_stack_on_and_counted_once():
    charge, other = charge_of(ready_stack(), ready_stack()), charge_of()
    charge.stacks.update(loaded_at=timezone.now())
    assert list(Charge.objects.in_kiln()) == [charge]
    assert other not in Charge.objects.in_kiln()


def test_the_newest_plan_is_in_force():
    assert Plan.objects.in_force() is None
    PlanFactory()
    newest = PlanFactory()
    assert Plan.objects.in_force() == newest


def test_a_plan_tells_how_much_of_its_bound_it_reaches():
    assert PlanFactory(value=900, bound=1000).of_bound == pytest.approx(0.9)
    assert PlanFactory(value=0, bound=0).of_bound == 1
