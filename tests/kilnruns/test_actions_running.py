"""Loading, taking back, starting, unloading, calling off: what each does and when it is refused."""

from datetime import datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kilnruns.actions import charges as actions
from kilnruns.actions.starting import start
from tests.factories import PlaceFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack
from yard.models.tagcode import shown

pytestmark = pytest.mark.django_db


def now():
    return timezone.now()


def load(charge, *stacks, by=None):
    for stack in stacks:
        actions.load(charge=charge, stack=stack, by=by, at=now())


def running(*stacks, **kwargs):
    """A charge whose stacks are in and whose door is closed."""
    charge = charge_of(*stacks, **kwargs)
    load(charge, *(item.stack for item in charge.stacks.all()))
    start(charge=charge, by=None, at=now())
    charge.refresh_from_db()
    return charge


def test_a_stack_checked_in_stands_in_the_kiln(user):
    stack = ready_stack()
    charge = charge_of(stack)
    load(charge, stack, by=user)
    stack.refresh_from_db()
    assert stack.place == charge.kiln.place
    assert charge.stacks.get().loaded_by == user
    assert charge.state == "loading"


def test_a_stack_of_another_charge_is_refused(user):
    stack = ready_stack()
    with pytest.raises(ValidationError, match="is not in this charge"):
        load(charge_of(), stack)
    stack.refresh_from_db()
    assert not stack.place.is_kiln


def test_a_stack_is_checked_in_once():
    stack = ready_stack()
    charge = charge_of(stack)
    load(charge, stack)
    with pytest.raises(ValidationError, match="is in already"):
        load(charge, stack)


@pytest.mark.parametrize("field", ["unloaded_at", "called_off_at"])
def test_nothing_goes_into_a_closed_charge(field):
    stack = ready_stack()
    charge = charge_of(stack, **{field: now()})
    with pytest.raises(ValidationError, match="closed"):
        load(charge, stack)


def test_nothing_more_goes_into_a_running_kiln():
    one, late = ready_stack(), ready_stack()
    charge = running(one)
    charge.stacks.create(stack=late, volume_m3=1)
    with pytest.raises(ValidationError, match="running"):
        load(charge, late)


def test_a_kiln_that_is_not_empty_is_refused():
    kiln, stack = KilnFactory(), ready_stack()
    running(kiln=kiln)
    charge = charge_of(stack, kiln=kiln, start_on=days_from_today(20))
    with pytest.raises(ValidationError, match="Unload it first"):
        load(charge, stack)


def test_a_stack_taken_back_stands_where_it_stood(user):
    stack = ready_stack()
    shed, charge = stack.place, charge_of(stack)
    load(charge, stack)
    actions.take_back(charge=charge, stack=stack, by=user, at=now())
    stack.refresh_from_db()
    assert stack.place == shed
    assert charge.stacks.get().loaded_at is None


def test_a_stack_that_is_not_in_cannot_be_taken_back(user):
    stack = ready_stack()
    with pytest.raises(ValidationError, match="can be taken back"):
        actions.take_back(charge=charge_of(stack), stack=stack, by=user, at=now())


def test_a_stack_of_a_running_kiln_cannot_be_taken_back(user):
    stack = ready_stack()
    with pytest.raises(ValidationError, match="can be taken back"):
        actions.take_back(charge=running(stack), stack=stack, by=user, at=now())


def test_starting_releases_what_was_left_out(user):
    one, left = ready_stack(), ready_stack()
    charge = charge_of(one, left)
    load(charge, one)
    start(charge=charge, by=user, at=now())
    left.refresh_from_db()
    assert left.set_aside_for == ""
    assert [item.stack for item in charge.stacks.all()] == [one]


def test_a_runs_days_count_from_when_the_door_was_closed(user):
    stack = ready_stack()
    charge = charge_of(stack, start_on=days_from_today(-4), days=12)
    load(charge, stack)
    at = timezone.make_aware(datetime(2026, 5, 4, 16))
    start(charge=charge, by=user, at=at)
    charge.refresh_from_db()
    assert (charge.started_at, charge.ends_on) == (at, at.date() + timedelta(days=12))


def test_an_empty_kiln_is_not_started(user):
    charge = charge_of()
    with pytest.raises(ValidationError, match="at least one stack"):
        start(charge=charge, by=user, at=now())
    charge.refresh_from_db()
    assert charge.started_at is None


def test_a_kiln_is_started_once_and_the_earlier_start_counts(user):
    charge = running(ready_stack())
    charge.refresh_from_db()
    first, loaded = charge.started_at, charge.stacks.get().loaded_at
    assert "that counts" in start(charge=charge, by=user, at=first + timedelta(hours=4))
    charge.refresh_from_db()
    assert charge.started_at == first
    assert "that counts" in start(charge=charge, by=user, at=loaded - timedelta(minutes=1)), "nothing was in then"
    charge.stacks.update(loaded_at=first - timedelta(hours=5))
    assert "earlier start counts" in start(charge=charge, by=user, at=first - timedelta(hours=4))
    charge.refresh_from_db()
    assert charge.started_at == first - timedelta(hours=4)
    assert charge.start_on == timezone.localdate(first - timedelta(hours=4))


def test_a_start_told_by_a_phone_releases_nothing_that_stands_in_the_kiln(user):
    one, other = ready_stack(), ready_stack()
    charge = charge_of(one, other)
    load(charge, one)
    with pytest.raises(ValidationError) as told:
        start(charge=charge, by=user, at=now(), inside={one.pk, other.pk})
    assert shown(other.code) in told.value.messages[0]
    with pytest.raises(ValidationError, match="after the door was closed"):
        start(charge=charge, by=user, at=now() - timedelta(hours=1), inside={one.pk})
    charge.refresh_from_db()
    assert charge.started_at is None
    assert charge.stacks.count() == 2
    start(charge=charge, by=user, at=now(), inside={one.pk})
    assert [item.stack for item in charge.stacks.all()] == [one]


def test_a_stack_unloaded_is_dry_free_and_where_one_said(user):
    stack, store = ready_stack(), PlaceFactory()
    charge = running(stack, ready_stack())
    actions.unload(charge=charge, stack=stack, place=store, by=user, at=now())
    stack.refresh_from_db()
    assert (stack.place, stack.set_aside_for, stack.kiln_dried_on) == (store, "", timezone.localdate())
    charge.refresh_from_db()
    assert charge.state == "drying"


def test_the_last_stack_out_ends_the_charge(user):
    stacks = [ready_stack(), ready_stack()]
    charge, store = running(*stacks), PlaceFactory()
    for stack in stacks:
        actions.unload(charge=charge, stack=stack, place=store, by=user, at=now())
    charge.refresh_from_db()
    assert charge.state == "done"


def test_a_stack_is_unloaded_once(user):
    stack, store = ready_stack(), PlaceFactory()
    charge = running(stack, ready_stack())
    actions.unload(charge=charge, stack=stack, place=store, by=user, at=now())
    with pytest.raises(ValidationError, match="is out already"):
        actions.unload(charge=charge, stack=stack, place=store, by=user, at=now())


def test_a_stack_that_never_went_in_is_not_unloaded(user):
    with pytest.raises(ValidationError, match="did not go into"):
        actions.unload(charge=running(), stack=ready_stack(), place=PlaceFactory(), by=user, at=now())


def test_before_the_start_one_takes_back_instead_of_unloading(user):
    stack = ready_stack()
    charge = charge_of(stack)
    load(charge, stack)
    with pytest.raises(ValidationError, match="Take the stack back"):
        actions.unload(charge=charge, stack=stack, place=PlaceFactory(), by=user, at=now())


def test_a_planned_charge_called_off_frees_its_stacks(user):
    stack = ready_stack()
    charge = charge_of(stack)
    actions.call_off(charge=charge, by=user, at=now())
    stack.refresh_from_db()
    assert stack.set_aside_for == ""
    assert charge.state == "called_off"


def test_calling_off_twice_changes_nothing(user):
    stack = ready_stack()
    charge = charge_of(stack)
    actions.call_off(charge=charge, by=user, at=now())
    first = charge.called_off_at
    actions.call_off(charge=charge, by=user, at=now())
    assert charge.called_off_at == first
    assert stack.events.filter(kind="released").count() == 1


def test_a_charge_with_stacks_in_the_kiln_is_not_called_off(user):
    stack = ready_stack()
    charge = charge_of(stack)
    load(charge, stack)
    with pytest.raises(ValidationError, match="in the kiln already"):
        actions.call_off(charge=charge, by=user, at=now())
