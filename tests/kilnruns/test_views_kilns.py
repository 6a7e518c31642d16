"""The kilns' page: charges, calendar, proposals, the form to plan, the kilns themselves."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.models import LeftOut, Plan
from tests.kilnruns.factories import (
    ClosureFactory,
    KilnFactory,
    PlanFactory,
    charge_of,
    days_from_today,
    propose,
    ready_stack,
)

pytestmark = pytest.mark.django_db


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def test_without_a_kiln_it_teaches_to_add_one(owner_in):
    text = words(owner_in.get("/kilns/"))
    assert "Add your kiln" in text
    assert "/kilns/new/" in text


def test_who_is_no_owner_is_not_sent_where_they_may_not_go(signed_in):
    assert "/kilns/new/" not in words(signed_in.get("/kilns/"))


def test_before_the_first_plan_it_offers_to_plan(signed_in):
    KilnFactory()
    text = words(signed_in.get("/kilns/"))
    assert "Not planned yet" in text
    assert 'action="/plans/"' in text


def test_it_shows_charges_proposals_closures_and_what_is_done(signed_in):
    kiln = KilnFactory()
    planned = charge_of(kiln=kiln, start_on=days_from_today(2))
    done = charge_of(kiln=kiln, start_on=days_from_today(-30), unloaded_at=timezone.now())
    proposal = propose(kiln, start_on=days_from_today(20))
    ClosureFactory(kiln=kiln, first_day=days_from_today(40), last_day=days_from_today(44))
    LeftOut.objects.create(plan=proposal.plan, stack=ready_stack(), why="held")
    text = words(signed_in.get("/kilns/"))
    for link in (f"/charges/{planned.pk}/", f"/charges/{done.pk}/", f"/proposals/{proposal.pk}/", f"/kilns/{kiln.pk}/"):
        assert link in text
    assert "why 1 stack is left out" in text
    assert "closed: Fan bearings" in text


def test_a_proposal_that_was_accepted_or_is_past_is_not_proposed_again(signed_in):
    kiln, plan = KilnFactory(), PlanFactory()
    accepted = propose(kiln, plan=plan)
    charge_of(kiln=kiln, proposal=accepted)
    past = propose(kiln, plan=plan, start_on=days_from_today(-1))
    text = words(signed_in.get("/kilns/"))
    assert f"/proposals/{accepted.pk}/" not in text
    assert f"/proposals/{past.pk}/" not in text


def test_planning_makes_a_plan_and_shows_it(signed_in, user):
    KilnFactory()
    ready_stack(lines=[(4000, 150, 160)])
    response = signed_in.post("/plans/", {"weeks": "4"})
    plan = Plan.objects.get()
    assert response["Location"] == f"/plans/{plan.pk}/"
    assert (plan.horizon_days, plan.careful, plan.made_by) == (28, False, user)
    assert plan.proposals.count() == 1


def test_a_sure_plan_is_kept_as_such(signed_in):
    KilnFactory()
    signed_in.post("/plans/", {"weeks": "6", "careful": "on"})
    assert Plan.objects.get().careful


def test_sixteen_weeks_are_offered_and_the_kilns_calendar_shows_them(signed_in):
    KilnFactory()
    signed_in.post("/plans/", {"weeks": "16"})
    assert Plan.objects.get().horizon_days == 112
    horizon = signed_in.get("/kilns/").context["horizon"]
    assert horizon.first <= days_from_today(0) and horizon.first + timedelta(days=horizon.days) == days_from_today(112)


@pytest.mark.parametrize("weeks", ["", "5", "soon"])
def test_weeks_that_are_not_offered_are_refused_at_their_field(signed_in, weeks):
    KilnFactory()
    response = signed_in.post("/plans/", {"weeks": weeks, "careful": "on"})
    assert response.status_code == 422
    assert response.context["form"].errors["weeks"]
    assert response.context["form"]["careful"].value()
    assert not Plan.objects.exists()


def test_without_a_kiln_nothing_is_planned(signed_in):
    response = signed_in.post("/plans/", {"weeks": "8"}, follow=True)
    assert "no kiln to plan for" in words(response)
    assert not Plan.objects.exists()


def test_a_plan_is_made_by_posting_only(signed_in):
    assert signed_in.get("/plans/").status_code == 405


def test_the_page_asks_as_often_for_thirty_rows_as_for_three(signed_in, django_assert_max_num_queries):
    kiln, plan = KilnFactory(), PlanFactory()

    def add(count):
        for n in range(count):
            propose(kiln, plan=plan, start_on=days_from_today(n))
            charge_of(kiln=kiln, start_on=days_from_today(n))
            charge_of(kiln=kiln, start_on=days_from_today(-40 - n), unloaded_at=timezone.now())

    def queries():
        with django_assert_max_num_queries(200) as counted:
            signed_in.get("/kilns/")
        return len(counted)

    add(3)
    few = queries()
    add(7)
    KilnFactory()
    assert queries() == few
