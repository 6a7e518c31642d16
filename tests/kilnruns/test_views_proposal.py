"""A proposal's page, and accepting it."""

import pytest

from kilnruns.models import Charge
from kilnruns.planning.chambers import space
from tests.factories import SpeciesFactory, want
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, packs_stood, propose, ready_stack, tally

pytestmark = pytest.mark.django_db


def words(response):
    assert response.status_code == 200
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def page(browser, proposal):
    return words(browser.get(f"/proposals/{proposal.pk}/"))


def test_its_figures_come_with_their_bands(signed_in):
    text = page(signed_in, propose(energy_kwh=410, cost=184))
    for said in (
        "0.65 m³",
        "76 % of what fits",
        "93 % of the best possible",
        "12 days",
        "8 to 18",
        "410 kWh",
        "184 EUR",
    ):
        assert said in text


def test_its_stacks_come_with_how_much_of_each(signed_in):
    whole, cut = ready_stack(), ready_stack()
    text = page(signed_in, propose(taken={whole: tally(whole), cut: [[4000, 150, 10]]}))
    assert f"/stacks/{whole.code}/" in text
    assert "10 boards · 25 % of it" in text


def test_the_load_is_drawn_and_stands_in_a_table_too(signed_in):
    proposal = propose()
    text = page(signed_in, proposal)
    assert text.count('fill="url(#hatch-') >= len(proposal.layout["placed"])
    assert "The same as a table" in text
    assert text.count("4.00 m × 150 mm") == len(proposal.layout["placed"])


def test_a_load_of_packs_is_drawn_tier_by_tier(signed_in):
    kiln, stack = KilnFactory(loading="pack"), ready_stack()
    layout = packs_stood({stack.code: (4000, 1000, 600)}, space(kiln))
    text = page(signed_in, propose(kiln, taken={stack: tally(stack)}, layout=layout))
    assert "Tier 1" in text
    assert "raised pack" in text


def test_the_schedule_says_its_source_and_whether_it_is_recalled(signed_in):
    hardwood = SpeciesFactory(wood_class="hardwood", drying_group="medium_hardwood", schedule_25mm="T8-C3")
    stack = ready_stack(hardwood)
    text = page(signed_in, propose(taken={stack: tally(stack)}))
    assert "Schedule T8-C3" in text
    assert "recalled, not re-read" in text


def test_a_schedule_of_our_own_is_not_called_recalled(signed_in):
    text = page(signed_in, propose())
    assert "common practice, no source" in text
    assert "recalled" not in text


def test_the_steps_begin_with_the_one_for_the_wettest_stack(signed_in):
    assert "step for 14 %, the wettest stack" in page(signed_in, propose())


def test_the_alternative_and_what_is_missing_are_told(signed_in):
    later = {
        "kind": "fuller_later", "start_on": days_from_today(9).isoformat(), "days": 13, "space_taken": 0.96,
        "space_taken_now": 0.7, "codes": [], "gain": -277.1,
    }  # fmt: skip
    missing = {
        "kiln": 1, "group": "softwood@8", "thinnest_mm": 24, "thickest_mm": 36, "volume_m3": 1.1,
        "by": days_from_today(0).isoformat(), "lane_rest_mm": None,
    }  # fmt: skip
    text = page(signed_in, propose(extra={"alternatives": [later], "missing": [missing]}))
    assert "96 % full instead of 70 %" in text
    assert "277 EUR less" in text
    assert "1.1 m³ of softwood for 8 %, 24 mm to 36 mm thick, is missing." in text


MISSING = {
    "kiln": 1, "group": "softwood@8", "thinnest_mm": 24, "thickest_mm": 36, "volume_m3": 1.1, "by": "2027-05-20",
    "lane_rest_mm": None, "species": "European larch", "thickness_mm": 27,
}  # fmt: skip


@pytest.mark.parametrize(
    ("sawing", "said"),
    [
        (
            {"saw_by": "2027-03-03", "ready_on": "2027-05-01"},
            "saw it by 3 March 2027, then it is as likely as not dry enough in time.",
        ),
        (
            {"saw_by": None, "ready_on": "2027-06-02"},
            "Too late to saw for it: sawn today it is ready about 2 June 2027. This plan has no charge that late",
        ),
        (
            {"saw_by": None, "ready_on": "2027-06-02", "next_kiln": 0, "next_on": "2027-06-14"},
            "sawn today it is ready about 2 June 2027. That is in time for a kiln on 14 June 2027.",
        ),
        ({"saw_by": None, "ready_on": None}, "(or other softwood for 8 % of 24 mm to 36 mm)."),
    ],
)
def test_what_is_missing_says_what_to_saw_and_by_when(signed_in, sawing, said):
    text = page(signed_in, propose(extra={"missing": [{**MISSING, **sawing}]}))
    assert "1.1 m³ of 27 mm European larch is missing" in text
    assert said in text


def test_the_needs_it_serves_its_worth_and_its_slowest_stack_are_told(signed_in):
    stack = ready_stack()
    need = want(name="Barn floor", species=stack.species, thickness_mm=20, volume_m3=0.3, wanted_by=days_from_today(30))
    served = {"need": need.pk, "name": need.name, "wanted_by": need.wanted_by.isoformat(), "days_before": -3}
    extra = {"needs": [served], "value": 812.4, "driver": stack.code}
    text = page(signed_in, propose(taken={stack: tally(stack)}, extra=extra))
    assert f'href="/needs/{need.pk}/"' in text and "Barn floor" in text
    assert "3 days<small>too late" in text
    assert "812 EUR" in text
    assert "Takes longest" in text


def test_cautions_stand_on_it(signed_in):
    assert "Mind before you start" in page(signed_in, propose())


def test_accepting_makes_the_charge_and_shows_it(signed_in, user):
    proposal = propose()
    response = signed_in.post(f"/proposals/{proposal.pk}/charge/")
    charge = Charge.objects.get()
    assert response["Location"] == f"/charges/{charge.pk}/"
    assert (charge.proposal, charge.made_by) == (proposal, user)


def test_an_accepted_one_leads_to_its_charge_and_is_not_offered_again(signed_in):
    proposal = propose()
    charge = charge_of(kiln=proposal.kiln, proposal=proposal)
    text = page(signed_in, proposal)
    assert f"/charges/{charge.pk}/" in text
    assert "Accept this charge" not in text


def test_what_can_no_longer_be_accepted_says_why(signed_in):
    stack = ready_stack()
    proposal = propose(taken={stack: tally(stack)})
    stack.set_aside_for = "the barn"
    stack.save()
    response = signed_in.post(f"/proposals/{proposal.pk}/charge/", follow=True)
    assert "set aside for the barn. Make a new plan." in words(response)
    assert not Charge.objects.exists()


def test_a_proposal_is_accepted_by_posting_only(signed_in):
    assert signed_in.get(f"/proposals/{propose().pk}/charge/").status_code == 405


def test_the_page_asks_as_often_for_ten_stacks_as_for_two(signed_in, django_assert_max_num_queries):
    def queries(count):
        proposal = propose(taken={(stack := ready_stack(lines=[(4000, 150, 8)])): tally(stack) for _ in range(count)})
        with django_assert_max_num_queries(200) as counted:
            signed_in.get(f"/proposals/{proposal.pk}/")
        return len(counted)

    assert queries(10) == queries(2)
