"""The mill's own rules in the plan: who shares a charge, loading days, drying groups, waiting, a sure plan, limits."""

from datetime import timedelta

import numpy as np
import pytest
from django.db import IntegrityError, transaction

from drying.schedules import GROUP_CODES
from kilnruns.models import DayOff, GroupMember, OwnGroup, PlanningRules
from kilnruns.planning import propose
from kilnruns.planning.case import case
from kilnruns.planning.chambers import TURNAROUND_DAYS, space
from kilnruns.planning.days import work_days
from kilnruns.planning.durations import schedule_of
from kilnruns.planning.groups import Groups
from tests.factories import OutlookFactory, PlaceFactory, SpeciesFactory, StackFactory, want
from tests.kilnruns.factories import ClosureFactory, KilnFactory, charge_of, days_from_today, ready_stack, today

pytestmark = pytest.mark.django_db
FULL = [(4000, 150, 200)]
HALF = [(4000, 150, 60)]


def drying(path=(19.0, 14.0), over_days=60, **kwargs):
    """A stack at hand that goes from one median moisture to another, and stays there."""
    stack = StackFactory(place=kwargs.pop("place", None) or PlaceFactory(), **kwargs)
    days = [days_from_today(n).toordinal() for n in (-60, 0, over_days, 300)]
    middle = [50.0, path[0], path[1], path[1]]
    ready = days_from_today(-3)
    OutlookFactory(
        stack=stack, as_of=days_from_today(-60), ready_p10=ready, ready_p50=ready, ready_p90=ready,
        curve={"day": days, "p10": [m - 1 for m in middle], "p50": middle, "p90": [m + 4 for m in middle]},
    )  # fmt: skip
    return stack


def keep(**figures):
    return PlanningRules.objects.create(pk=1, **figures)


def charges(seconds=2, **kwargs):
    return propose(first_day=today(), seconds=seconds, **kwargs).charges


def codes(charge):
    return {share[0] for share in charge.shares}


def test_without_a_row_the_usual_rules_hold():
    assert PlanningRules.current().are_usual
    assert PlanningRules.current().loading_days == [0, 1, 2, 3, 4, 5]


def test_there_is_one_row_of_rules():
    with pytest.raises(IntegrityError), transaction.atomic():
        PlanningRules.objects.create(pk=2)


def test_the_least_ratio_of_thicknesses_decides_who_shares_a_charge():
    KilnFactory(), (wood := SpeciesFactory())
    thin, thick = (drying(species=wood, thickness_mm=size, lines=HALF) for size in (27, 34))
    assert any(codes(one) == {thin.code, thick.code} for one in charges())
    keep(thinnest_to_thickest=0.9, smallest_fill=0.2)
    assert all(len(codes(one)) == 1 for one in charges())


def test_the_smallest_fill_decides_whether_a_charge_is_worth_while():
    KilnFactory()
    drying(lines=HALF)
    assert charges() == ()
    keep(smallest_fill=0.2)
    assert len(charges()) == 1


def test_the_moisture_window_keeps_wet_and_dry_apart():
    KilnFactory(), (wood := SpeciesFactory())
    for now in (12.0, 16.0):
        drying((now, now), species=wood, lines=HALF, kiln_entry_pct=20)
    assert max(len(codes(one)) for one in charges()) == 2
    keep(moisture_window_pct=2, smallest_fill=0.2)
    assert max(len(codes(one)) for one in charges()) == 1


def test_stacks_with_different_targets_never_share():
    KilnFactory(), (wood := SpeciesFactory())
    keep(smallest_fill=0.2)
    for target in (8, 12):
        drying(species=wood, lines=HALF, target_pct=target)
    found = charges()
    assert sorted(one.target_pct for one in found) == [8, 12]
    assert all(len(codes(one)) == 1 for one in found)


def test_nobody_loads_on_days_that_are_not_ticked_or_off():
    keep(loading_days=[1, 3])
    off = DayOff.objects.create(first_day=today(), last_day=days_from_today(13), reason="Away")
    days = work_days(today(), 28)
    assert not any(days[:14])
    assert [number for number, works in enumerate(days) if works] == [
        number for number in range(14, 28) if (today() + timedelta(days=number)).weekday() in (1, 3)
    ]
    assert off.covers(days_from_today(13)) and not off.covers(days_from_today(14))


def test_a_plan_starts_on_loading_days_alone_and_a_run_goes_on_over_days_off():
    KilnFactory()
    drying(lines=FULL)
    start = charges()[0].start_on
    DayOff.objects.create(first_day=start, last_day=start + timedelta(days=2))
    later = charges()[0]
    assert later.start_on > start + timedelta(days=2)
    DayOff.objects.create(first_day=later.start_on + timedelta(days=1), last_day=later.start_on + timedelta(days=3))
    assert charges()[0].start_on == later.start_on


def test_a_booked_kiln_takes_no_charge_on_its_days():
    kiln = KilnFactory()
    drying(lines=FULL)
    first = charges()[0]
    ClosureFactory(kiln=kiln, first_day=first.start_on + timedelta(days=1), last_day=first.start_on + timedelta(days=9))
    assert charges()[0].start_on > first.start_on + timedelta(days=9)


def two_woods():
    pine = SpeciesFactory(drying_group="softwood")
    ash = SpeciesFactory(drying_group="medium_hardwood", wood_class="hardwood")
    return pine, ash


def test_species_of_two_groups_share_a_charge_once_the_owner_puts_them_together():
    KilnFactory()
    pine, ash = two_woods()
    for wood in (pine, ash):
        drying(species=wood, lines=HALF)
    assert all(len(codes(one)) == 1 for one in charges())
    own = OwnGroup.objects.create(name="Carving wood", base="softwood")
    for wood in (pine, ash):
        GroupMember.objects.create(species=wood, own=own)
    (both,) = charges()
    assert len(codes(both)) == 2
    assert both.group == "Carving wood@8"


def test_a_species_moved_away_no_longer_shares():
    KilnFactory(), keep(smallest_fill=0.2)
    one, other = SpeciesFactory(drying_group="softwood"), SpeciesFactory(drying_group="softwood")
    for wood in (one, other):
        drying(species=wood, lines=HALF)
    assert max(len(codes(charge)) for charge in charges()) == 2
    GroupMember.objects.create(species=other, book="light_hardwood")
    assert max(len(codes(charge)) for charge in charges()) == 1


def test_a_moved_wood_without_a_schedule_is_never_dried_harder():
    kiln, (_pine, ash) = KilnFactory(max_temperature_c=90), two_woods()
    stack = StackFactory(species=ash, thickness_mm=27)
    own = schedule_of(stack, kiln, Groups.read()).code
    assert own == GROUP_CODES["medium_hardwood"][0]
    GroupMember.objects.create(species=ash, book="softwood")
    assert schedule_of(stack, kiln, Groups.read()).code == own
    GroupMember.objects.filter(species=ash).update(book="slow_hardwood")
    assert schedule_of(stack, kiln, Groups.read()).code == GROUP_CODES["slow_hardwood"][0]


def test_a_member_is_of_one_group():
    with pytest.raises(IntegrityError), transaction.atomic():
        GroupMember.objects.create(species=SpeciesFactory())
    own = OwnGroup.objects.create(name="Mixed", base="softwood")
    with pytest.raises(IntegrityError), transaction.atomic():
        GroupMember.objects.create(species=SpeciesFactory(), own=own, book="softwood")


def test_a_dear_kiln_waits_for_wood_that_dries_on_outdoors_and_a_still_one_does_not():
    KilnFactory(cost_per_day=60)
    stack = drying((20.0, 12.0), over_days=24, lines=FULL, value_per_m3=900)
    (waits,) = charges()
    stack.outlook.curve["p50"] = [50.0, 20.0, 20.0, 20.0]
    stack.outlook.curve["p90"] = [54.0, 24.0, 24.0, 24.0]
    stack.outlook.save()
    (goes,) = charges()
    assert waits.start_on > goes.start_on
    assert waits.days < goes.days


def test_a_proposal_says_what_waiting_would_save_in_days_heat_and_money():
    kiln = KilnFactory()
    drying((20.0, 12.0), over_days=40, lines=FULL)
    (charge,) = charges()
    told = charge.extra["waiting"]
    assert [one["days"] for one in told] == sorted(one["days"] for one in told)
    for one in told:
        assert one["days"] >= 1
        assert one["kwh"] > 0
        assert one["cost"] == pytest.approx(one["days"] * kiln.cost_per_day + one["kwh"] * kiln.price_per_kwh, abs=0.1)


def test_nothing_is_said_of_waiting_where_the_wood_stands_still():
    KilnFactory()
    drying((16.0, 16.0), lines=FULL)
    (charge,) = charges()
    assert charge.extra["waiting"] == []


def test_energy_makes_a_day_in_the_kiln_dearer():
    KilnFactory(price_per_kwh=0.0)
    drying(lines=FULL)
    (free,) = case(today(), 56).offers
    assert free.cost_per_day == pytest.approx(5)
    KilnFactory(price_per_kwh=0.3)
    KilnFactory(price_per_kwh=0.3, wall_u_w_m2k=2.0)
    _free, dear, leaky = case(today(), 56).offers
    fans = 0.3 * 24 * 0.25
    walls = dear.cost_per_day - 5 - fans
    assert walls > 0
    assert leaky.cost_per_day - 5 - fans == pytest.approx(4 * walls)


def test_a_sure_plan_counts_its_days_from_the_wet_side():
    kiln = KilnFactory()
    stack = drying(lines=FULL)
    likely, sure = (case(today(), 56, careful).lumber[stack.code] for careful in (False, True))
    days = [float(one.run_days[str(kiln.pk)][0]) for one in (likely, sure)]
    assert days[1] > days[0] > TURNAROUND_DAYS
    assert float(sure.water_kg[0]) > float(likely.water_kg[0])


def test_a_weak_heater_is_in_the_days_already():
    weak, strong = KilnFactory(heater_kw=0.7), KilnFactory(heater_kw=12)
    stack = drying((30.0, 28.0), lines=FULL, kiln_entry_pct=35)
    given = case(today(), 56)
    days = given.lumber[stack.code].run_days
    assert float(days[str(weak.pk)][0]) > 1.5 * float(days[str(strong.pk)][0])
    assert all(one.heater_kg_water_per_day is None for one in given.offers)


def test_a_stack_that_was_used_in_part_is_planned_with_what_is_left():
    KilnFactory()
    stack = drying(lines=FULL)
    line = stack.lines.get()
    line.count = 150
    line.save()
    lumber = case(today(), 56).lumber[stack.code]
    assert lumber.pieces == ((4000, 150, 150),)
    assert lumber.volume_m3 == pytest.approx(150 * 4.0 * 0.15 * stack.thickness_mm / 1000)
    (charge,) = charges()
    assert sum(count for _, _, _, pieces in charge.shares for _, _, count in pieces) <= 150


def test_each_stack_is_dried_to_its_own_target():
    kiln = KilnFactory()
    wood = SpeciesFactory()
    low, high = (drying(species=wood, lines=FULL, target_pct=target) for target in (8, 14))
    lumber = case(today(), 56).lumber
    assert (lumber[low.code].target_pct, lumber[high.code].target_pct) == (8, 14)
    days = [float(lumber[one.code].run_days[str(kiln.pk)][0]) for one in (low, high)]
    assert days[0] > days[1]


def test_needs_are_served_in_the_order_of_their_days():
    KilnFactory()
    wood = SpeciesFactory()
    sooner, later = drying(species=wood, lines=HALF), drying(species=wood, lines=HALF)
    sooner.outlook.ready_p50 = days_from_today(-9)
    sooner.outlook.save()
    common = {"species": wood, "thickness_mm": sooner.thickness_mm - 4, "volume_m3": 0.3, "target_pct": 8}
    want(name="Second", wanted_by=days_from_today(60), **common)
    want(name="First", wanted_by=days_from_today(30), **common)
    due = case(today(), 56).due
    assert (due[sooner.code].need.name, due[later.code].need.name) == ("First", "Second")
    assert (due[sooner.code].day, due[later.code].day) == (30, 60)


def test_a_kiln_that_is_taken_by_a_charge_is_not_offered_its_days():
    kiln = KilnFactory()
    charge_of(ready_stack(), kiln=kiln, start_on=today(), days=20, days_high=30)
    drying(lines=FULL)
    (charge,) = charges()
    assert charge.start_on >= days_from_today(20)
    assert np.isfinite(charge.cost)


def test_a_drying_units_limits_make_the_space_smaller():
    whole = KilnFactory.build(length_mm=4000, width_mm=1500, height_mm=1000)
    assert space(whole).length_mm == 4000
    whole.blow_length_mm, whole.largest_air_m3 = 1200, 3.6
    served = space(whole)
    assert (served.width_mm, served.length_mm) == (1200, 3000)  # 3.6 m3 over 1.2 m by 1.0 m


def test_a_door_that_lets_in_short_boards_alone_keeps_the_long_ones_out():
    KilnFactory(length_mm=4200, longest_board_mm=3900)
    drying(lines=FULL)
    draft = propose(first_day=today(), seconds=1)
    assert draft.charges == ()
    assert [one.why for one in draft.reasons] == ["too_long"]
    assert draft.reasons[0].figures["limit_mm"] == 3900
