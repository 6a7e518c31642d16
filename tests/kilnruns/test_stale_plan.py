"""What changed since a plan was made, and what the next one moved: told with its stack and days, in fixed queries."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns import planning as planner
from kilnruns.actions.charges import accept, call_off
from kilnruns.actions.plans import keep
from kilnruns.actions.working import is_no_better
from kilnruns.models import Fixing, Planning
from kilnruns.planning import since
from kilnruns.planning.answer import Draft
from kilnruns.planning.basis import basis
from tests.factories import ReadingFactory, want
from tests.kilnruns.factories import (
    ClosureFactory,
    KilnFactory,
    PlanFactory,
    charge_of,
    days_from_today,
    propose,
    ready_stack,
    tally,
    today,
)

pytestmark = pytest.mark.django_db


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def made(plan):
    """The plan knows what it was made from: the yard as it is now."""
    plan.read_at, plan.basis = timezone.now(), basis(plan.careful)
    plan.save()
    return plan


@pytest.fixture
def proposal(db):
    """One charge proposed for in a week, of a plan made just now."""
    proposal = propose(start_on=days_from_today(7))
    made(proposal.plan)
    return proposal


def stack_in(proposal):
    return proposal.shares.get().stack


def ready(stack, ahead):
    stack.outlook.ready_p50 = None if ahead is None else days_from_today(ahead)
    stack.outlook.save()


def test_when_nothing_has_changed_nothing_is_said(proposal, signed_in):
    told = since(proposal.plan, today())
    assert not told.matters
    assert "out of date" not in words(signed_in.get("/kilns/"))


def test_a_plan_that_kept_nothing_is_not_judged():
    assert since(PlanFactory(), today()) is None


def test_a_stack_that_would_start_too_wet_is_told_with_its_days(proposal, signed_in):
    stack = stack_in(proposal)
    was = stack.outlook.ready_p50
    ReadingFactory(stack=stack)
    ready(stack, 12)
    told = since(proposal.plan, today())
    assert told.readings == 1
    assert [(one.stack, one.was, one.now, one.start_on) for one in told.too_wet] == [
        (stack, was, days_from_today(12), proposal.start_on)
    ]
    for page in ("/kilns/", f"/plans/{proposal.plan_id}/", "/"):
        text = words(signed_in.get(page))
        assert "1 reading since then." in text
        assert "would start too wet" in text
        assert "Plan anew" in text


def test_a_stack_that_may_never_be_ready_is_too_wet(proposal, signed_in):
    ready(stack_in(proposal), None)
    assert since(proposal.plan, today()).too_wet
    assert "not ready within its forecast" in words(signed_in.get("/kilns/"))


def test_what_is_fixed_or_lifted_since_is_told(proposal, signed_in):
    fixing = Fixing.objects.create(kind="hold", stack=stack_in(proposal), made_at=timezone.now())
    assert since(proposal.plan, today()).fixings == 1
    assert "1 thing was fixed or lifted that the plan does not know." in words(signed_in.get("/kilns/"))
    made(proposal.plan)
    assert not since(proposal.plan, today()).matters
    fixing.lifted_at = timezone.now()
    fixing.save()
    assert since(proposal.plan, today()).fixings == 1


def test_a_stack_later_but_still_in_time_says_nothing(proposal):
    ready(stack_in(proposal), 6)
    assert not since(proposal.plan, today()).matters


def test_a_reading_that_changes_nothing_is_told_quietly(proposal, signed_in):
    ReadingFactory(stack=stack_in(proposal))
    text = words(signed_in.get("/kilns/"))
    assert "1 reading since then; it changes nothing" in text
    assert "out of date" not in text


def test_a_stack_left_out_that_is_ready_sooner_is_told(signed_in):
    other = ready_stack()
    ready(other, 20)
    proposal = propose(start_on=days_from_today(7))
    made(proposal.plan)
    ready(other, 18)
    assert not since(proposal.plan, today()).sooner
    ready(other, 9)
    assert [(one.stack, one.now) for one in since(proposal.plan, today()).sooner] == [(other, days_from_today(9))]
    assert "is ready sooner" in words(signed_in.get("/kilns/"))


def test_new_stacks_kilns_needs_and_charges_are_counted(proposal):
    new = ready_stack()
    KilnFactory()
    want(name="A floor", species=new.species, thickness_mm=20, volume_m3=1, wanted_by=days_from_today(60))
    charge_of(ready_stack(), kiln=proposal.kiln)
    told = since(proposal.plan, today())
    assert (told.added, told.kilns, told.needs, told.charges) == (1, 1, 1, 1)


def test_a_closure_changes_a_kiln(proposal):
    ClosureFactory(kiln=proposal.kiln)
    assert since(proposal.plan, today()).kilns == 1


def test_a_stack_used_meanwhile_is_gone(proposal):
    stack = stack_in(proposal)
    stack.used_at = timezone.now()
    stack.save()
    assert since(proposal.plan, today()).gone == 1


def test_another_tally_is_another_volume(proposal):
    line = stack_in(proposal).lines.first()
    line.count += 5
    line.save()
    assert since(proposal.plan, today()).measured == 1


@pytest.mark.parametrize("whole", [True, False])
def test_accepting_its_own_proposal_leaves_the_plan_as_fresh_as_it_was(whole):
    stack = ready_stack(lines=[(4000, 150, 40)])
    proposal = propose(KilnFactory(), {stack: tally(stack) if whole else [[4000, 150, 15]]}, start_on=today())
    made(proposal.plan)
    charge = accept(proposal=proposal, by=None, at=timezone.now())
    assert not since(proposal.plan, today()).matters
    call_off(charge=charge, by=None, at=timezone.now())
    assert since(proposal.plan, today()).added == 0


def test_a_start_that_passed_unaccepted_is_told(proposal, signed_in):
    proposal.start_on = days_from_today(-1)
    proposal.save()
    assert since(proposal.plan, today()).missed == (days_from_today(-1),)
    assert "was not accepted" in words(signed_in.get("/kilns/"))


def test_a_charge_overdue_or_called_off_is_a_change():
    kiln = KilnFactory()
    late = charge_of(kiln=kiln, start_on=days_from_today(-20), started_at=timezone.now())
    planned = charge_of(kiln=kiln, start_on=days_from_today(10))
    plan = made(PlanFactory())
    told = since(plan, today())
    assert told.charges == 1
    late.days, late.days_high = 30, 40
    late.save()
    assert since(plan, today()).charges == 1
    call_off(charge=planned, by=None, at=timezone.now())
    assert since(plan, today()).charges == 2


def test_the_pages_ask_as_often_for_thirty_stacks_as_for_three(signed_in, django_assert_max_num_queries):
    plan, kiln = PlanFactory(), KilnFactory()

    def queries(page):
        with django_assert_max_num_queries(200) as counted:
            signed_in.get(page)
        return len(counted)

    def add(count):
        for n in range(count):
            propose(kiln, plan=plan, start_on=days_from_today(3 + n))
        made(plan)
        for share in kiln.proposals.filter(plan=plan):
            ready(share.shares.get().stack, 60)

    pages = ("/kilns/", f"/plans/{plan.pk}/", "/")
    add(3)
    few = [queries(page) for page in pages]
    add(12)
    assert [queries(page) for page in pages] == few


def draft_of(proposal, **kwargs):
    known = {"first_day": today(), "horizon_days": 56, "careful": False, "charges": (), "reasons": ()}
    return Draft(
        **known | {"value": 9.0, "bound": 10.0, "seconds": 1.0, "cut_by_clock": False, "basis": basis(False)} | kwargs
    )


def test_the_next_plan_says_what_it_moved_and_what_had_changed(proposal, signed_in):
    stack = stack_in(proposal)
    ready(stack, 12)
    plan = keep(draft=draft_of(proposal), by=None, before=proposal.plan)
    assert plan.moved["of"] == 1
    assert [one["code"] for one in plan.moved["stacks"]] == [stack.code]
    assert plan.moved["stacks"][0]["now"] == []
    text = words(signed_in.get(f"/plans/{plan.pk}/"))
    assert "1 of 1 stacks moved." in text
    assert "is ready on" in text
    assert "left out" in text


def test_a_stack_accepted_meanwhile_did_not_move(proposal):
    accept(proposal=proposal, by=None, at=timezone.now())
    assert planner.moved(proposal.plan, draft_of(proposal))["of"] == 0


def test_nothing_changed_and_nothing_better_keeps_the_plan_in_force(proposal):
    plan = proposal.plan
    assert is_no_better(plan, draft_of(proposal, value=plan.value))
    assert not is_no_better(plan, draft_of(proposal, value=plan.value + 1))
    assert not is_no_better(plan, draft_of(proposal, value=1, horizon_days=28))
    ready(stack_in(proposal), 3)
    assert not is_no_better(plan, draft_of(proposal, value=1))


def test_the_page_of_a_plan_in_work_and_its_buttons(signed_in):
    KilnFactory()
    now = timezone.now()
    known = {"started_at": now, "beat_at": now, "worker": "one", "tries": 1}
    planning = Planning.objects.create(first_day=today(), spent=0.4, value=91, bound=100, **known)
    text = words(signed_in.get("/kilns/"))
    assert "A new plan is being made" in text
    assert "40 %" in text
    assert "so far 91 % of the most" in text
    assert f'hx-get="/plannings/{planning.pk}/"' in text
    assert 'action="/plans/"' not in text
    fragment = words(signed_in.get(f"/plannings/{planning.pk}/", headers={"HX-Request": "true"}))
    assert "<html" not in fragment
    assert 'hx-trigger="every 2s"' in fragment
    assert signed_in.get(f"/plannings/{planning.pk}/").url == "/kilns/"

    signed_in.post(f"/plannings/{planning.pk}/best/")
    planning.refresh_from_db()
    assert planning.best_wanted_at
    assert "Ending with the best" in words(signed_in.get("/kilns/"))
    assert "Cancelled." in words(signed_in.post(f"/plannings/{planning.pk}/cancel/", follow=True))
    assert "is being made" not in words(signed_in.get("/kilns/"))


def test_a_silent_one_says_that_nothing_works_on_it(signed_in):
    KilnFactory()
    Planning.objects.create(first_day=today(), asked_at=timezone.now() - timedelta(minutes=5))
    assert "Nothing has worked on it" in words(signed_in.get("/kilns/"))
