"""Accepting a proposal, and every moment at which it is too late for it."""

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from kilnruns.actions.charges import accept
from kilnruns.models import Charge
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, propose, ready_stack, tally
from yard.actions import stacks as yard
from yard.models import Event, Outlook

pytestmark = pytest.mark.django_db


def accepted(proposal, user):
    return accept(proposal=proposal, by=user, at=timezone.now())


def refusal(proposal, user):
    with pytest.raises(ValidationError) as caught:
        accepted(proposal, user)
    assert not Charge.objects.filter(proposal=proposal, pk__gt=0).exclude(made_by=None).exists()
    return caught.value.messages[0]


def test_whole_stacks_go_in_under_their_own_tags_and_are_set_aside(user):
    one, other = ready_stack(), ready_stack()
    proposal = propose(taken={one: tally(one), other: tally(other)})
    charge = accepted(proposal, user)
    assert {item.stack for item in charge.stacks.all()} == {one, other}
    one.refresh_from_db()
    assert str(charge.kiln) in one.set_aside_for
    assert one.events.get(kind=Event.Kind.SET_ASIDE).by == user


def test_the_charge_keeps_the_proposals_figures_and_is_planned(user):
    proposal = propose(days=12, energy_kwh=410)
    charge = accepted(proposal, user)
    assert (charge.proposal, charge.days, charge.energy_kwh, charge.made_by) == (proposal, 12, 410, user)
    assert charge.volume_m3 == pytest.approx(proposal.volume_m3)
    assert charge.state == "planned"


def test_the_charge_keeps_the_schedule_it_is_to_be_run_by(user):
    course = accepted(propose(), user).course
    assert course["steps"][0]["from_pct"] is None
    assert course["source"]
    assert course["run"]["water_kg"] > 0


def test_a_part_is_split_off_with_a_tag_of_its_own(user):
    stack = ready_stack(lines=[(4000, 150, 40), (3000, 200, 10)])
    charge = accepted(propose(taken={stack: [[4000, 150, 15], [3000, 200, 10]]}), user)
    part = charge.stacks.get().stack
    assert part != stack
    assert part.split_from == stack
    assert sorted(yard.tally(part)) == [(3000, 200, 10), (4000, 150, 15)]
    assert yard.tally(stack) == [(4000, 150, 25)]


def test_only_the_part_is_set_aside_and_the_rest_stays_free(user):
    stack = ready_stack()
    charge = accepted(propose(taken={stack: [[4000, 150, 15]]}), user)
    stack.refresh_from_db()
    assert stack.set_aside_for == ""
    assert charge.stacks.get().stack.set_aside_for


def test_the_drawing_names_the_part_by_its_new_tag(user):
    stack = ready_stack()
    charge = accepted(propose(taken={stack: [[4000, 150, 15]]}), user)
    part = charge.stacks.get().stack
    assert {row["stack"] for row in charge.layout["placed"]} == {part.code}
    assert len(charge.layout["placed"]) == 15


def test_the_part_and_the_rest_are_forecast_anew_once_all_is_written(user, django_capture_on_commit_callbacks):
    stack = ready_stack()
    with django_capture_on_commit_callbacks(execute=True):
        charge = accepted(propose(taken={stack: [[4000, 150, 15]]}), user)
    part = charge.stacks.get().stack
    assert Outlook.objects.filter(stack__in=[stack, part]).count() == 2


def test_the_run_of_a_part_is_reckoned_with_the_parts_volume(user):
    whole, cut = ready_stack(), ready_stack()
    course = accepted(propose(taken={whole: tally(whole)}), user).course
    part = accepted(propose(taken={cut: [[4000, 150, 20]]}), user).course
    assert part["run"]["water_kg"] == pytest.approx(course["run"]["water_kg"] / 2, rel=0.1)


def test_a_proposal_is_accepted_once(user):
    proposal = propose()
    accepted(proposal, user)
    with pytest.raises(ValidationError, match="accepted already"):
        accepted(proposal, user)
    assert Charge.objects.count() == 1


def test_a_stack_that_has_left_the_yard_refuses_it(user):
    stack = ready_stack()
    proposal = propose(taken={stack: tally(stack)})
    yard.use(stack=stack, for_what="a floor", by=user, at=timezone.now())
    assert "no longer in the yard" in refusal(proposal, user)


def test_a_stack_set_aside_meanwhile_refuses_it_and_says_for_what(user):
    stack = ready_stack()
    proposal = propose(taken={stack: tally(stack)})
    yard.set_aside(stacks=[stack], for_what="the barn", by=user, at=timezone.now())
    assert "the barn" in refusal(proposal, user)


def test_a_stack_with_fewer_boards_than_planned_refuses_it(user):
    stack = ready_stack()
    proposal = propose(taken={stack: tally(stack)})
    yard.split(stack=stack, lines=[(4000, 150, 3)], by=user, at=timezone.now())
    assert "tally" in refusal(proposal, user)


def test_a_stack_with_more_boards_than_planned_is_split(user):
    stack = ready_stack()
    proposal = propose(taken={stack: tally(stack)})
    yard.correct(stack=stack, changes={}, lines=[(4000, 150, 44)], by=user, at=timezone.now())
    assert accepted(proposal, user).stacks.get().stack.split_from == stack


def test_boards_of_another_size_than_planned_refuse_it(user):
    stack = ready_stack()
    proposal = propose(taken={stack: tally(stack)})
    yard.correct(stack=stack, changes={}, lines=[(3000, 150, 40)], by=user, at=timezone.now())
    assert "tally" in refusal(proposal, user)


def test_a_kiln_taken_meanwhile_refuses_it_and_says_until_when(user):
    kiln = KilnFactory()
    proposal = propose(kiln, start_on=days_from_today(5))
    charge_of(kiln=kiln, start_on=days_from_today(0), days=6, days_low=6, days_high=6)
    assert "is taken from" in refusal(proposal, user)


def test_a_charge_that_ends_on_the_first_day_is_not_in_the_way(user):
    kiln = KilnFactory()
    proposal = propose(kiln, start_on=days_from_today(6))
    charge_of(kiln=kiln, start_on=days_from_today(0), days=6, days_low=6, days_high=6)
    assert accepted(proposal, user).start_on == days_from_today(6)


def test_a_charge_called_off_or_in_another_kiln_is_not_in_the_way(user):
    kiln = KilnFactory()
    proposal = propose(kiln)
    charge_of(kiln=kiln, called_off_at=timezone.now() - timedelta(days=1))
    charge_of()
    assert accepted(proposal, user).kiln == kiln
