"""From rows to a plan and back, end to end on twelve stacks; the plan is checked by code that the planner lacks."""

import random
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone

from drying import plan as core
from drying.verify import verify
from kilnruns.actions.charges import accept
from kilnruns.actions.plans import make_plan
from kilnruns.models import Plan
from kilnruns.planning import propose
from kilnruns.planning.case import candidates, case, free_kilns
from kilnruns.planning.chambers import OVERDUE_DAYS, TURNAROUND_DAYS, offer, taken_days
from kilnruns.planning.days import work_days
from tests.factories import OutlookFactory, PlaceFactory, SpeciesFactory, StackFactory, want
from tests.kilnruns.factories import ClosureFactory, KilnFactory, charge_of, days_from_today, ready_stack, today

pytestmark = pytest.mark.django_db
SUNDAY = 6
WEEKS_8 = 56


def stack_of(species, place, ready_ahead=-5, now=19.0, **kwargs):
    """A stack that is at `now` % today and comes to 20 % so many days ahead."""
    stack = StackFactory(species=species, place=place, **kwargs)
    days = [days_from_today(-60).toordinal(), days_from_today(0).toordinal(), days_from_today(200).toordinal()]
    ready = days_from_today(ready_ahead)
    OutlookFactory(
        stack=stack,
        as_of=days_from_today(-60),
        ready_p10=ready - timedelta(days=6),
        ready_p50=ready,
        ready_p90=ready + timedelta(days=12),
        curve={"day": days, "p10": [50, now - 1, 13], "p50": [55, now, 14], "p90": [60, now + 1, 15]},
    )
    return stack


@pytest.fixture
def yard(db):
    """Two kilns and twelve stacks: eight of a softwood at hand, three still wet, one too long for any door."""
    KilnFactory(length_mm=4200)
    pack = KilnFactory(loading="pack", length_mm=6400, width_mm=2500, height_mm=2700, sticker_mm=80, heater_kw=24)
    pack.longest_board_mm, pack.may_split = 6300, False
    pack.save()
    place, pine = PlaceFactory(), SpeciesFactory(rate=0.35)
    for n in range(8):
        size = {"pack_length_mm": 4000, "pack_width_mm": 1200, "pack_height_mm": 440 + 30 * n}
        stack_of(pine, place, lines=[(4000, 150, 60 + 5 * n), (2000, 120, 20)], **size)
    for n in range(3):
        stack_of(pine, place, ready_ahead=90 + n, now=34.0)
    stack_of(pine, place, lines=[(7000, 150, 30)])
    return place


def solved(seconds=3.0, **kwargs):
    """Case, kilns and answer, just as `propose` makes them."""
    given = case(today(), WEEKS_8)
    offers = [offer(kiln, today(), WEEKS_8) for kiln in given.kilns.values()]
    lumber = list(given.lumber.values())
    days = work_days(today(), WEEKS_8)
    plan = core.plan(lumber, offers, horizon_days=WEEKS_8, seconds=seconds, work_days=days, **kwargs)
    return plan, lumber, offers, days


def test_the_plan_of_a_real_yard_keeps_every_rule(yard):
    plan, lumber, offers, days = solved()
    assert len(lumber) == 12
    assert plan.charges
    assert verify(plan, lumber, offers, horizon_days=WEEKS_8, work_days=days) == []


def test_the_checker_sees_a_broken_rule(yard):
    plan, lumber, offers, days = solved()
    assert verify(plan, lumber, offers, horizon_days=WEEKS_8, work_days=[not day for day in days])


def test_the_codes_that_the_tags_happen_to_bear_change_nothing(yard):
    given = case(today(), WEEKS_8)
    offers = [offer(kiln, today(), WEEKS_8) for kiln in given.kilns.values() if kiln.loading == "pack"]
    dice, values = random.Random(5), []
    for _ in range(3):
        codes = dice.sample(range(100, 999), len(given.lumber))
        lumber = [replace(one, code=str(code)) for one, code in zip(given.lumber.values(), codes, strict=True)]
        values.append(core.plan(lumber, offers, horizon_days=WEEKS_8, seconds=30).value)
    assert min(values) > 0.99 * max(values) > 0


def test_every_stack_is_in_a_charge_or_has_its_reason(yard, user):
    plan = make_plan(first_day=today(), horizon_days=WEEKS_8, careful=False, by=user, seconds=3)
    inside = {share.stack_id for one in plan.proposals.all() for share in one.shares.all()}
    left = {one.stack_id: one.why for one in plan.left_out.all()}
    assert len(inside | set(left)) == 12
    assert sorted(why for why in left.values() if why in ("too_wet", "too_long")) == ["too_long", *["too_wet"] * 3]


def test_a_kept_plan_can_be_accepted_and_the_next_leaves_its_stacks_and_days_alone(yard, user):
    plan = make_plan(first_day=today(), horizon_days=WEEKS_8, careful=False, by=user, seconds=3)
    charge = accept(proposal=plan.proposals.first(), by=user, at=timezone.now())
    taken = {item.stack_id for item in charge.stacks.all()}
    second = make_plan(first_day=today(), horizon_days=WEEKS_8, careful=False, by=user, seconds=3)
    assert Plan.objects.in_force() == second
    for proposal in second.proposals.all():
        assert not taken & {share.stack_id for share in proposal.shares.all()}
        if proposal.kiln == charge.kiln:
            assert proposal.start_on >= charge.ends_on or (
                proposal.start_on + timedelta(days=proposal.days) <= charge.start_on
            )


def test_a_proposals_figures_are_of_its_own_load(yard):
    draft = propose(first_day=today(), horizon_days=WEEKS_8, seconds=3)
    kilns = {kiln.pk: kiln for kiln in free_kilns()}
    for charge in draft.charges:
        assert charge.volume_m3 == pytest.approx(sum(volume for _, _, volume, _ in charge.shares))
        assert charge.days_low <= charge.days <= charge.days_high
        assert 0 < charge.fill <= charge.fill_bound <= 1
        kiln = kilns[charge.kiln]
        assert charge.cost == pytest.approx(charge.days * kiln.cost_per_day + charge.energy_kwh * kiln.price_per_kwh)
        assert charge.water_kg > 0
        assert charge.energy_kwh > 0.7 * charge.water_kg * 0.65  # kWh: latent heat alone is 0.65 a kg


def test_the_kept_drawing_holds_every_board_that_is_taken(yard):
    draft = propose(first_day=today(), horizon_days=WEEKS_8, seconds=3)
    for charge in draft.charges:
        if charge.layout["kind"] == "hand":
            boards = sum(count for _, _, _, pieces in charge.shares for _, _, count in pieces)
            assert len(charge.layout["placed"]) == boards


def test_a_sure_plan_waits_for_the_late_day(yard):
    place, wood = PlaceFactory(), SpeciesFactory()
    stack_of(wood, place, ready_ahead=50, now=21.0, lines=[(4000, 150, 200)])
    late = {one.code: one.why for one in propose(first_day=today(), careful=True, seconds=2).reasons}
    soon = {one.code: one.why for one in propose(first_day=today(), careful=False, seconds=2).reasons}
    code = next(stack.code for stack in candidates() if stack.species == wood)
    assert late[code] == "too_wet"
    assert soon.get(code) != "too_wet"


def test_the_same_yard_gets_the_same_plan_twice(yard):
    first, second = (propose(first_day=today(), seconds=60) for _ in range(2))
    assert not first.cut_by_clock
    assert [(one.kiln, one.start_on, one.shares) for one in first.charges] == [
        (one.kiln, one.start_on, one.shares) for one in second.charges
    ]


def test_what_is_in_a_kiln_dried_used_or_in_a_charge_is_no_candidate():
    free = ready_stack()
    charge_of(ready_stack())
    ready_stack(kiln_dried_on=today())
    ready_stack(used_at=timezone.now())
    StackFactory()
    assert candidates() == [free]


def test_a_stack_set_aside_by_hand_must_wait_and_says_so(yard):
    stack = candidates()[0]
    stack.set_aside_for = "the barn"
    stack.save()
    reasons = {one.code: one.why for one in propose(first_day=today(), seconds=2).reasons}
    assert reasons[stack.code] == "held"


def test_wood_that_is_dry_enough_already_is_not_planned():
    KilnFactory()
    place, wood = PlaceFactory(), SpeciesFactory()
    dry = stack_of(wood, place, now=8.2)
    assert dry.code not in case(today(), WEEKS_8).lumber


def test_a_kiln_is_taken_by_closures_and_by_charges_ahead():
    kiln = KilnFactory()
    ClosureFactory(kiln=kiln, first_day=days_from_today(3), last_day=days_from_today(5))
    started = timezone.now() - timedelta(days=4)
    charge_of(kiln=kiln, start_on=days_from_today(-4), days=10, days_low=8, days_high=12, started_at=started)
    charge_of(kiln=kiln, start_on=days_from_today(20), called_off_at=timezone.now())
    (free,) = free_kilns()
    assert taken_days(free, today(), WEEKS_8) == ((0, 6), (3, 6))


def test_a_run_over_its_days_takes_its_kiln_a_while_yet():
    kiln = KilnFactory()
    started = timezone.now() - timedelta(days=30)
    charge_of(kiln=kiln, start_on=days_from_today(-30), days=12, started_at=started)
    assert taken_days(free_kilns()[0], today(), WEEKS_8) == ((0, OVERDUE_DAYS),)


def test_a_charge_whose_day_is_past_is_loaded_today_at_best():
    kiln = KilnFactory()
    charge_of(kiln=kiln, start_on=days_from_today(-5), days=12)
    assert taken_days(free_kilns()[0], today(), WEEKS_8) == ((0, 12),)


def test_days_beyond_the_plan_are_cut():
    kiln = KilnFactory()
    ClosureFactory(kiln=kiln, first_day=days_from_today(50), last_day=days_from_today(90))
    ClosureFactory(kiln=kiln, first_day=days_from_today(-9), last_day=days_from_today(-2))
    assert taken_days(free_kilns()[0], today(), WEEKS_8) == ((50, 56),)


def test_nobody_loads_on_a_sunday():
    days = work_days(today(), 14)
    assert sum(days) == 12
    assert all((today() + timedelta(days=n)).weekday() != SUNDAY for n in np.flatnonzero(days).tolist())


def test_a_wetter_stack_takes_longer_and_loading_takes_its_day(yard):
    lumber = case(today(), WEEKS_8).lumber.values()
    wettest = max(lumber, key=lambda one: float(one.moisture_p50_pct[0]))
    driest = min(lumber, key=lambda one: float(one.moisture_p50_pct[0]))
    for kiln, days in wettest.run_days.items():
        assert float(days[0]) > float(driest.run_days[kiln][0]) > TURNAROUND_DAYS


def test_a_need_gives_the_stacks_that_can_serve_it_their_day(yard):
    stack = candidates()[0]
    want(name="Floor", species=stack.species, thickness_mm=22, volume_m3=0.3, wanted_by=days_from_today(45))
    due = {one.code: one.due_day for one in case(today(), WEEKS_8).lumber.values() if one.due_day is not None}
    assert list(due.values()) == [45]


def test_a_yard_without_stacks_or_kilns_has_an_empty_plan(db):
    assert propose(first_day=today(), seconds=1).charges == ()
    KilnFactory()
    assert propose(first_day=today(), seconds=1).charges == ()
    ready_stack()
    assert len(propose(first_day=today(), seconds=1).reasons) == 1


def test_the_reader_asks_as_often_for_thirty_stacks_as_for_three(django_assert_max_num_queries):
    KilnFactory()

    def queries():
        with django_assert_max_num_queries(100) as counted:
            case(today(), WEEKS_8)
        return len(counted)

    for _ in range(3):
        ready_stack()
    few = queries()
    wood = SpeciesFactory()
    for _ in range(27):
        ready_stack(wood)
    KilnFactory()
    assert queries() == few
