"""What shall become of a stack, by touch: choose a way, answer one question, see what it costs, lift it."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.models import Fixing, LeftOut, Plan, Reckoning
from tests.factories import SpeciesFactory
from tests.kilnruns.factories import KilnFactory, PlanFactory, charge_of, days_from_today, propose, ready_stack, tally
from tests.kilnruns.test_fixings import workday

pytestmark = pytest.mark.django_db


@pytest.fixture
def proposal(db):
    """Two stacks that go together in the plan in force."""
    wood = SpeciesFactory(rate=0.35)
    stacks = [ready_stack(wood, lines=[(4000, 150, 70)]) for _ in range(2)]
    return propose(KilnFactory(cost_per_day=10), {one: tally(one) for one in stacks}, start_on=workday(5))


@pytest.fixture
def stack(proposal):
    return proposal.shares.first().stack


def words(response, status=200):
    assert response.status_code == status
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def page_of(stack, kind=""):
    return f"/fixings/new/{stack.code}/" + (f"?kind={kind}" if kind else "")


def send(browser, stack, **given):
    return browser.post(page_of(stack), given)


def test_the_proposal_leads_to_it_and_it_says_where_the_stack_stands(signed_in, proposal, stack):
    assert f'href="/fixings/new/{stack.code}/"' in words(signed_in.get(f"/proposals/{proposal.pk}/"))
    text = words(signed_in.get(page_of(stack)))
    assert f"In the plan it goes into {proposal.kiln} on" in text
    assert all(f'href="?kind={kind}"' in text for kind in ("into", "hold", "start", "apart"))


def test_a_stack_left_out_leads_to_it_and_its_reason_is_told(signed_in):
    plan, stack = PlanFactory(), ready_stack()
    LeftOut.objects.create(plan=plan, stack=stack, why="kiln_blocked", figures={"until": 9})
    assert f'href="/fixings/new/{stack.code}/"' in words(signed_in.get(f"/plans/{plan.pk}/"))
    assert "The plan leaves it out. the kiln is taken until" in words(signed_in.get(page_of(stack)))


def test_an_accepted_proposal_offers_no_fixing(signed_in, proposal, stack):
    charge_of(kiln=proposal.kiln, proposal=proposal)
    assert f"/fixings/new/{stack.code}/" not in words(signed_in.get(f"/proposals/{proposal.pk}/"))


def test_into_a_charge_of_the_plan(signed_in, user, proposal, stack):
    assert f'value="{proposal.pk}"' in words(signed_in.get(page_of(stack, "into")))
    response = send(signed_in, stack, kind="into", charge=proposal.pk, reason="The barn's roof")
    one = Fixing.objects.get()
    assert response["Location"] == f"/fixings/{one.pk}/"
    assert (one.kind, one.stack, one.kiln, one.start_on) == ("into", stack, proposal.kiln, proposal.start_on)
    assert (one.reason, one.made_by) == ("The barn's roof", user)


def test_into_a_kiln_on_a_day_of_ones_own(signed_in, proposal, stack):
    send(signed_in, stack, kind="into", kiln=proposal.kiln.pk, start_on=workday(12).isoformat())
    assert Fixing.objects.get().start_on == workday(12)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "into"}, "Choose a charge, or give a kiln and a day."),
        ({"kind": "into", "start_on": "2999-01-01"}, "Say which kiln too."),
        ({"kind": "into", "charge": "99999"}, "Select a valid choice"),
        ({"kind": "hold"}, "Give the day from which it may go, or take one of the buttons."),
        ({"kind": "hold", "until": "2020-01-01"}, "1 January 2020 is past"),
        ({"kind": "start", "start_on": "some day"}, "Enter a valid date"),
        ({"kind": "apart"}, "Choose a stack above, or type the tag of the other one."),
        ({"kind": "apart", "with_code": "234 567 ABCD"}, "No stack on its way to the kiln bears"),
    ],
)
def test_what_is_missing_or_wrong_is_told_at_its_field_and_nothing_is_lost(signed_in, stack, given, said):
    text = words(send(signed_in, stack, reason="For the barn", **given), 422)
    assert said in text
    assert 'value="For the barn"' in text
    assert not Fixing.objects.exists()


def test_a_stack_is_not_kept_apart_from_itself(signed_in, stack):
    assert "This is the stack itself" in words(send(signed_in, stack, kind="apart", with_code=stack.code), 422)


def test_a_wish_that_collides_is_told_at_its_field_with_the_days_that_mend_it(signed_in, proposal, stack):
    stack.outlook.ready_p10, stack.outlook.ready_p50, stack.outlook.ready_p90 = map(days_from_today, (20, 25, 40))
    stack.outlook.save()
    text = words(send(signed_in, stack, kind="into", charge=proposal.pk, reason="Now"), 422)
    assert "it is still too wet: ready only about" in text
    assert 'name="charge"' in text and " checked>" in text and 'value="Now"' in text
    assert not Fixing.objects.exists()


@pytest.mark.parametrize(("how", "until"), [("2", days_from_today(14)), ("open", None)])
def test_it_waits_by_one_touch(signed_in, stack, how, until):
    send(signed_in, stack, kind="hold", how=how)
    assert Fixing.objects.get().until == until


def test_never_together_with_one_that_goes_along_or_one_by_its_tag(signed_in, proposal, stack):
    other = proposal.shares.last().stack
    assert other.code in words(signed_in.get(page_of(stack, "apart")))
    send(signed_in, stack, kind="apart", beside=other.code)
    assert Fixing.objects.get().other == other
    third = ready_stack()
    send(signed_in, stack, kind="apart", with_code=f"{third.code[:3]} {third.code[3:6].lower()} {third.code[6:]}")
    assert Fixing.objects.last().other == third


def test_its_page_asks_what_it_costs_and_shows_it(signed_in, user, stack, proposal):
    one = Fixing.objects.create(
        kind="hold", stack=stack, until=days_from_today(400), made_at=timezone.now(), made_by=user, reason="A guess"
    )
    text = words(signed_in.get(f"/fixings/{one.pk}/"))
    assert f'hx-post="/fixings/{one.pk}/cost/" hx-trigger="load"' in text
    assert f'<form method="post" action="/fixings/{one.pk}/cost/"' in text
    assert "A guess" in text and "does not know it yet" in text
    fragment = words(signed_in.post(f"/fixings/{one.pk}/cost/", headers={"HX-Request": "true"}))
    one.refresh_from_db()
    assert f"{one.cost:.0f} EUR" in fragment and one.cost > 1
    again = words(signed_in.get(f"/fixings/{one.pk}/"))
    assert "hx-" not in again.partition("<main")[2].partition("</main")[0]
    assert "is what it costs: the plan brings" in again and "Counted on" in again


def test_a_newer_plan_has_it_counted_anew(signed_in, stack, proposal):
    one = Fixing.objects.create(kind="hold", stack=stack, made_at=timezone.now())
    signed_in.post(f"/fixings/{one.pk}/cost/")
    newer = PlanFactory()
    Plan.objects.filter(pk=newer.pk).update(made_at=timezone.now() + timedelta(minutes=1))
    text = words(signed_in.get(f"/fixings/{one.pk}/"))
    assert "There is a newer plan since." in text and 'hx-trigger="load"' in text


def test_without_script_the_button_counts_and_leads_back(signed_in, stack, proposal):
    one = Fixing.objects.create(kind="hold", stack=stack, made_at=timezone.now())
    response = signed_in.post(f"/fixings/{one.pk}/cost/")
    assert response["Location"] == f"/fixings/{one.pk}/"
    one.refresh_from_db()
    assert one.counted_at
    assert signed_in.get(f"/fixings/{one.pk}/cost/")["Location"] == f"/fixings/{one.pk}/"


def test_fixing_it_asks_what_it_costs_at_once(signed_in, stack, proposal):
    send(signed_in, stack, kind="hold", how="open")
    assert Reckoning.objects.get().fixing == Fixing.objects.get()


def test_a_wish_that_has_come_to_collide_says_so_in_place_of_its_cost(signed_in, stack, proposal):
    one = Fixing.objects.create(
        kind="into", stack=stack, kiln=proposal.kiln, start_on=days_from_today(200), made_at=timezone.now()
    )
    fragment = words(signed_in.post(f"/fixings/{one.pk}/cost/", headers={"HX-Request": "true"}))
    assert "No plan can keep it as things stand:" in fragment and "The plan ends on" in fragment


def test_lifting_it_leads_to_the_plan_and_its_page_says_so(signed_in, user, stack, proposal):
    one = Fixing.objects.create(kind="hold", stack=stack, made_at=timezone.now())
    assert signed_in.post(f"/fixings/{one.pk}/lift/")["Location"] == f"/plans/{proposal.plan_id}/"
    one.refresh_from_db()
    assert one.lifted_by == user
    assert "Plans need not keep this any more." in words(signed_in.get(f"/fixings/{one.pk}/"))
    assert not Fixing.objects.in_force(days_from_today(0)).exists()


def test_the_plan_lists_what_is_fixed_and_what_it_could_not_keep(signed_in, user, stack):
    one = Fixing.objects.create(kind="hold", stack=stack, made_at=timezone.now(), made_by=user, cost=42.4)
    unmet = {"fixing": one.pk, "code": stack.code, "why": "no_room", "figures": {"kiln": None, "start": None}}
    text = words(signed_in.get(f"/plans/{PlanFactory(notes={'unmet': [unmet]}).pk}/"))
    assert "Fixed: 1 wish" in text and "Waits until somebody lifts it" in text and "42 EUR" in text
    assert "What this plan could not keep" in text and "No room was found for it." in text


def test_choosing_the_alternative_fixes_its_stacks_and_plans_anew(signed_in, proposal):
    day = workday(9)
    codes = [share.stack.code for share in proposal.shares.all()]
    other = {
        "kind": "fuller_later", "start_on": day.isoformat(), "days": 13, "space_taken": 0.96, "space_taken_now": 0.7,
        "codes": codes, "gain": -27.1,
    }  # fmt: skip
    proposal.extra = {"alternatives": [other]}
    proposal.save()
    assert "Choose this and plan anew" in words(signed_in.get(f"/proposals/{proposal.pk}/"))
    response = signed_in.post(f"/proposals/{proposal.pk}/choose/0/")
    plan = Plan.objects.in_force()
    assert response["Location"] == f"/plans/{plan.pk}/" and plan != proposal.plan
    assert {(one.kind, one.start_on, one.kiln_id) for one in Fixing.objects.all()} == {("into", day, proposal.kiln_id)}
    assert [one.start_on for one in plan.proposals.all()] == [day]
    assert {share.stack.code for share in plan.proposals.get().shares.all()} == set(codes)


def test_an_alternative_that_is_gone_says_so(signed_in, proposal):
    response = signed_in.post(f"/proposals/{proposal.pk}/choose/3/", follow=True)
    assert "This choice is no longer there." in words(response)
    assert not Fixing.objects.exists()


def test_the_pages_ask_as_often_for_thirty_as_for_three(signed_in, proposal, stack, django_assert_max_num_queries):
    def add(count):
        for _ in range(count):
            Fixing.objects.create(kind="apart", stack=ready_stack(), other=stack, made_at=timezone.now())
            propose(proposal.kiln, plan=proposal.plan, start_on=days_from_today(9))

    def queries():
        counts = []
        for address in (f"/plans/{proposal.plan_id}/", page_of(stack), page_of(stack, "into"), page_of(stack, "apart")):
            with django_assert_max_num_queries(100) as counted:
                assert signed_in.get(address).status_code == 200
            counts.append(len(counted))
        return counts

    add(3)
    few = queries()
    add(27)
    assert queries() == few


def test_a_stack_that_nobody_knows_is_not_found(signed_in):
    assert signed_in.get("/fixings/new/222222222/").status_code == 404
    assert signed_in.get("/fixings/999/").status_code == 404
