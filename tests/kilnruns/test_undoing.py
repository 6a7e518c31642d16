"""Taking back what was done to kilns, charges, plans and settings."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kilnruns.actions import charges, closing, fixings, groups, kilns, rules, running, starting
from kilnruns.models import Charge, ChargeStack, Closure, DayOff, Fixing, GroupMember, Kiln, OwnGroup, PlanningRules
from tests.factories import PlaceFactory, UserFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, propose, ready_stack
from tests.yard.test_redoing_each_kind import there_and_back
from yard.actions.undoing import undo
from yard.changes.images import images
from yard.changes.kinds import _kinds
from yard.models import Change, Place, Stack, Stay

pytestmark = pytest.mark.django_db
TABLES = (Charge, ChargeStack, Closure, DayOff, Fixing, GroupMember, Kiln, OwnGroup, PlanningRules, Place, Stack, Stay)


def now():
    return timezone.now()


def state():
    return images(model.objects.all() for model in TABLES)


def take_back_last(by):
    return undo(change=Change.objects.first(), by=by, at=now())


@pytest.fixture
def owner(db):
    return UserFactory(is_staff=True)


def test_a_kilns_settings_come_back(owner):
    kiln = KilnFactory()
    before = state()
    kiln.heater_kw = 9
    kilns.save_kiln(kiln=kiln, name="Blue box", by=owner)
    assert Change.objects.first().about.get().what == "kiln"
    take_back_last(owner)
    assert state() == before


@pytest.mark.parametrize("done", ["days_off", "lifted", "rules", "closure", "group", "dissolved", "moved"])
def test_a_setting_of_the_mill_comes_back(owner, done):
    kiln, species = KilnFactory(), ready_stack().species
    off = rules.keep_days_off(off=DayOff(first_day=days_from_today(1), last_day=days_from_today(3)), by=owner, at=now())
    group = groups.keep_group(group=OwnGroup(name="Carving", base="softwood"), by=owner)
    groups.move(species=species, into=group, by=owner)
    to, days = {"by": owner, "at": now()}, {"first_day": days_from_today(2), "last_day": days_from_today(4)}
    acts = {
        "days_off": lambda: rules.keep_days_off(off=DayOff(**days), **to),
        "lifted": lambda: rules.lift_days_off(off=off, **to),
        "rules": lambda: rules.keep_rules(rules=PlanningRules(pk=1, smallest_fill=0.7), **to),
        "closure": lambda: kilns.book(closure=Closure(kiln=kiln, **days), **to),
        "group": lambda: groups.keep_group(group=OwnGroup(name="Turning", base="softwood"), by=owner),
        "dissolved": lambda: groups.dissolve(group=group, by=owner),
        "moved": lambda: groups.move(species=species, into=species.drying_group, by=owner),
    }
    before = state()
    acts[done]()
    assert state() != before
    take_back_last(owner)
    assert state() == before


def test_who_is_no_owner_any_more_can_not_take_a_setting_back(owner):
    rules.keep_rules(rules=PlanningRules(pk=1, smallest_fill=0.7), by=owner, at=now())
    owner.is_staff = False
    with pytest.raises(ValidationError, match="may not change this any more"):
        take_back_last(owner)


def test_a_fixing_and_what_it_stood_for_come_back(user):
    stack = ready_stack()
    fixings.fix(fixings=[Fixing(kind="hold", stack=stack)], by=user, at=now())
    before = state()
    fixings.fix(fixings=[Fixing(kind="hold", stack=stack, until=days_from_today(9))], by=user, at=now())
    take_back_last(user)
    assert state() == before
    fixings.lift(fixing=Fixing.objects.get(), by=user, at=now())
    take_back_last(user)
    assert state() == before


def test_each_step_of_a_charge_is_taken_back(user):
    """Checked in, started, unloaded: undone one by one, all stands as before each."""
    stack = ready_stack()
    charge, shed = charge_of(stack), PlaceFactory()
    to = {"by": user, "at": now()}
    acts = [
        lambda: charges.load(charge=charge, stack=stack, **to),
        lambda: starting.start(charge=charge, **to),
        lambda: charges.unload(charge=Charge.objects.get(pk=charge.pk), stack=stack, place=shed, **to),
    ]
    states, made = [], []
    for act in acts:
        states.append(state())
        act()
        made.append(Change.objects.first())
    for change, before in zip(reversed(made), reversed(states), strict=True):
        undo(change=change, by=user, at=now())
        assert state() == before


def test_a_check_in_is_not_taken_back_once_the_kiln_runs(user):
    stack = ready_stack()
    charge = charge_of(stack)
    charges.load(charge=charge, stack=stack, by=user, at=now())
    loaded = Change.objects.first()
    starting.start(charge=charge, by=UserFactory(username="Runa"), at=now())
    with pytest.raises(ValidationError, match="Since then: started, by Runa"):
        undo(change=loaded, by=user, at=now())


def test_a_start_is_not_taken_back_once_its_run_is_noted(user):
    stack = ready_stack()
    charge = charge_of(stack)
    charges.load(charge=charge, stack=stack, by=user, at=now())
    starting.start(charge=charge, by=user, at=now())
    started = Change.objects.first()
    charge.refresh_from_db()
    running.keep_record(charge=charge, at=now(), by=user, seen={"dry_bulb_c": 50.0}, pins_pct={stack: [19.0]})
    noted = Change.objects.first()
    assert noted.kind == "run_noted", "its readings are part of it"
    with pytest.raises(ValidationError, match="run is noted"):
        undo(change=started, by=user, at=now())
    undo(change=noted, by=user, at=now())
    record = charge.records.get()
    assert record.void_reason == "Undone"
    assert not record.readings.filter(voided_at=None).exists()


def test_a_charge_called_off_is_put_back_unless_its_days_are_taken(user):
    stack = ready_stack()
    charge = charge_of(stack)
    before = state()
    charges.call_off(charge=charge, by=user, at=now())
    called_off = Change.objects.first()
    other = charge_of(ready_stack(), kiln=charge.kiln, start_on=charge.start_on)
    with pytest.raises(ValidationError, match="another charge has its days"):
        undo(change=called_off, by=user, at=now())
    Charge.objects.filter(pk=other.pk).update(called_off_at=now())
    undo(change=called_off, by=user, at=now())
    charge.refresh_from_db()
    assert charge.called_off_at is None
    assert before["yard.stack", stack.pk] == state()["yard.stack", stack.pk]


def test_an_acceptance_is_taken_back_by_calling_off(user):
    proposal = propose()
    charge = charges.accept(proposal=proposal, by=user, at=now())
    take_back_last(user)
    charge.refresh_from_db()
    assert charge.state == "called_off"
    assert not Stack.objects.exclude(set_aside_for="").exists()


def test_a_lesson_taken_over_is_given_back(owner):
    kiln = KilnFactory(wall_u_w_m2k=0.5)
    closing.take_over(
        kiln=kiln, quantity="wall_u_w_m2k", value=0.8, band=(0.7, 0.9), runs=3, by=owner, at=now() - timedelta(days=1)
    )
    take_back_last(owner)
    kiln.refresh_from_db()
    assert kiln.wall_u_w_m2k == 0.5
    assert not kiln.lessons.exists()


def test_the_history_says_who_what_and_from_what_to_what(owner_in, owner):
    kiln = KilnFactory()
    kiln.heater_kw, kiln.humidifies = kiln.heater_kw + 3, not kiln.humidifies
    kilns.save_kiln(kiln=kiln, name="Blue box", by=owner)
    text = owner_in.get(f"/history/kiln/{kiln.pk}/").content.decode()
    assert f"Heater: {kiln.heater_kw - 3:g} → {kiln.heater_kw:g}\u202fkW" in text
    assert "Blue box" in text and owner.username in text
    assert "Can add moisture (spray or steam): no → yes" in text


def test_a_charges_history_names_its_stacks_and_its_steps(signed_in, user):
    from kilnruns.actions import schedules
    from yard.models.tagcode import shown

    stack = ready_stack()
    charge = charge_of(stack)
    steps = [{**step, "dry_bulb_c": step["dry_bulb_c"] - 2} for step in charge.course["steps"]]
    given = {"equalise_pct": 6.0, "equalise_from_driest_pct": 6.0, "condition_pct": 11.0}
    schedules.rewrite(charge=charge, steps=steps, closing=given, by=user, at=now())
    charges.load(charge=charge, stack=stack, by=user, at=now())
    text = signed_in.get(f"/history/charge/{charge.pk}/").content.decode()
    assert f"{shown(stack.code)}: checked in" in text
    assert "48\u202f°C, wet bulb 43\u202f°C; from 15 %: 56\u202f°C" in text
    assert "46\u202f°C, wet bulb 43\u202f°C; from 15 %: 54\u202f°C" in text


@pytest.mark.parametrize("count", [3])
def test_a_long_history_takes_no_more_queries(signed_in, owner, count):
    from tests.yard.queries import queries_of

    def kiln_with(changes):
        kiln = KilnFactory()
        for number in range(changes):
            kiln.heater_kw = number + 1
            kilns.save_kiln(kiln=kiln, name=f"Box {kiln.pk} {number}", by=owner)
        return kiln.pk

    few, many = kiln_with(count), kiln_with(10 * count)
    assert queries_of(signed_in, f"/history/kiln/{few}/") == queries_of(signed_in, f"/history/kiln/{many}/")


def in_the_kiln(user):
    stack = ready_stack()
    charge = charge_of(stack)
    charges.load(charge=charge, stack=stack, by=user, at=now())
    starting.start(charge=charge, by=user, at=now())
    charge.refresh_from_db()
    return charge, stack


def accepted(user):
    charge = charges.accept(proposal=propose(), by=user, at=now())
    return lambda: Charge.objects.get(pk=charge.pk).state == "planned" and not Stack.objects.filter(set_aside_for="")


def run_noted(user):
    charge, stack = in_the_kiln(user)
    running.keep_record(charge=charge, at=now(), by=user, seen={"dry_bulb_c": 50.0}, pins_pct={stack: [19.0]})
    return lambda: charge.records.get().voided_at is None and charge.records.get().readings.get().voided_at is None


def measured(user):
    charge, _stack = in_the_kiln(user)
    row = closing.keep_measurement(item=charge.stacks.get(), method="capacitance", values=[8.0], by=user, at=now())
    return lambda: type(row).objects.get(pk=row.pk).reading.voided_at is None


def stress_tested(user):
    charge, _stack = in_the_kiln(user)
    sizes = {"prong_mm": 100.0, "fresh_mm": 20.0}
    test = closing.keep_stress_test(item=charge.stacks.get(), kind="prong", sizes=sizes, by=user, at=now())
    return lambda: type(test).objects.get(pk=test.pk).voided_at is None


REDONE = {"accepted": accepted, "run_noted": run_noted, "measured": measured, "stress_tested": stress_tested}


@pytest.mark.parametrize("kind", REDONE)
def test_what_an_action_of_its_own_took_back_is_done_again(user, kind):
    there_and_back(kind, user, REDONE[kind](user))


def test_an_acceptance_is_not_done_again_once_its_days_are_taken(user):
    charge = charges.accept(proposal=propose(), by=user, at=now())
    back = take_back_last(user)
    charge_of(ready_stack(), kiln=charge.kiln, start_on=charge.start_on)
    with pytest.raises(ValidationError, match="another charge has its days"):
        undo(change=back, by=user, at=now())


def test_each_kind_that_has_an_inverse_is_tried():
    from tests.yard.test_redoing_each_kind import ACTS

    assert {name for name, kind in _kinds.items() if kind.inverse} == {*REDONE, *ACTS}
