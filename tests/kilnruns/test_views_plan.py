"""A plan's page: its charges, its calendar, what would fill another charge, and why each other stack is left out."""

import pytest

from kilnruns.models import LeftOut
from tests.kilnruns.factories import KilnFactory, PlanFactory, charge_of, days_from_today, propose, ready_stack

pytestmark = pytest.mark.django_db


def words(response):
    assert response.status_code == 200
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def test_it_shows_its_charges_and_how_good_it_is(signed_in):
    proposal = propose(plan=PlanFactory(value=890, bound=1000))
    text = words(signed_in.get(f"/plans/{proposal.plan_id}/"))
    assert "1 charge" in text
    assert "at least 89 %" in text
    assert f"/proposals/{proposal.pk}/" in text


def test_each_stack_left_out_is_told_why(signed_in):
    proposal = propose()
    stack = ready_stack()
    figures = {"fill": 0.4, "needed": 0.6, "group": "softwood@8", "cut_by": "volume"}
    LeftOut.objects.create(plan=proposal.plan, stack=stack, why="no_partners", figures=figures)
    text = words(signed_in.get(f"/plans/{proposal.plan_id}/"))
    assert "Not enough for a charge: 1" in text
    assert "a kiln is 40 % full; a charge needs 60 %" in text
    assert f"/stacks/{stack.code}/" in text


def test_what_would_fill_another_charge_is_told_with_its_kiln_and_day(signed_in):
    kiln = KilnFactory()
    missing = {
        "kiln": kiln.pk, "group": "slow_hardwood@8", "thinnest_mm": 24, "thickest_mm": 36, "volume_m3": 1.95,
        "by": "2027-01-29", "lane_rest_mm": 1200, "lane_from_mm": 900,
    }  # fmt: skip
    plan = PlanFactory(notes={"missing": [missing]})
    text = words(signed_in.get(f"/plans/{plan.pk}/"))
    assert "of slow hardwood for 8 %, 24 mm to 36 mm thick, is missing" in text
    assert f"to fill {kiln} on 29 January" in text
    assert "leave 1.2 m of most lanes: add boards of 0.9 m to 1.2 m." in text


def test_what_fills_the_lanes_says_how_many_there_are_and_how_much_it_is(signed_in):
    missing = {"kiln": KilnFactory().pk, "group": "softwood@8", "thinnest_mm": 24, "thickest_mm": 36, "volume_m3": 1.2}
    missing |= {"by": "2027-01-29", "lane_rest_mm": 1800, "lane_from_mm": 1400, "lane_to_mm": 1700}
    plan = PlanFactory(notes={"missing": [missing | {"lanes": 20, "lane_m3": 0.84}]})
    text = words(signed_in.get(f"/plans/{plan.pk}/"))
    assert "These stacks leave 1.8 m of 20 lanes: add boards of 1.4 m to 1.7 m (0.8 m³)." in text


def test_a_plan_without_a_charge_says_so(signed_in):
    assert "No charge is worth while yet" in words(signed_in.get(f"/plans/{PlanFactory().pk}/"))


def test_an_old_plan_says_that_a_newer_one_is_in_force(signed_in):
    old, newest = PlanFactory(), PlanFactory()
    assert "This plan is old" in words(signed_in.get(f"/plans/{old.pk}/"))
    assert "This plan is old" not in words(signed_in.get(f"/plans/{newest.pk}/"))


@pytest.mark.parametrize(("cut", "said"), [(True, "a longer search might find better"), (False, "Searched to its end")])
def test_it_says_whether_time_ran_out(signed_in, cut, said):
    assert said in words(signed_in.get(f"/plans/{PlanFactory(cut_by_clock=cut).pk}/"))


def test_an_accepted_proposal_is_drawn_once_as_its_charge(signed_in):
    proposal = propose()
    charge_of(kiln=proposal.kiln, proposal=proposal)
    response = signed_in.get(f"/plans/{proposal.plan_id}/")
    assert response.context["open_proposals"] == []
    assert response.context["proposals"] == [proposal]


def test_a_plan_that_is_not_there_is_not_found(signed_in):
    assert signed_in.get("/plans/999/").status_code == 404


def test_the_page_asks_as_often_for_thirty_rows_as_for_three(signed_in, django_assert_max_num_queries):
    kiln, plan = KilnFactory(), PlanFactory()

    def add(count):
        for n in range(count):
            propose(kiln, plan=plan, start_on=days_from_today(n))
            LeftOut.objects.create(plan=plan, stack=ready_stack(), why="held")

    def queries():
        with django_assert_max_num_queries(200) as counted:
            signed_in.get(f"/plans/{plan.pk}/")
        return len(counted)

    add(3)
    few = queries()
    add(27)
    assert queries() == few
