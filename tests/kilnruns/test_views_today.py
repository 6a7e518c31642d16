"""Today: what is due and nothing else, the verb first; what comes next when nothing is; an empty yard teaches."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from kilnruns.actions import charges as actions
from tests.factories import OutlookFactory, PlaceFactory, ReadingFactory, SpeciesFactory, StackFactory, UserFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, propose, ready_stack

pytestmark = pytest.mark.django_db


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def today(browser):
    response = browser.get("/")
    assert response.status_code == 200
    return words(response)


def later_stack(ahead=30):
    """A stack that is not ready yet and was read just now."""
    stack = StackFactory()
    day = days_from_today(ahead)
    curve = {
        "day": [days_from_today(-30).toordinal(), day.toordinal()],
        "p10": [50, 19],
        "p50": [55, 20],
        "p90": [60, 22],
    }
    OutlookFactory(stack=stack, ready_p10=day, ready_p50=day, ready_p90=day, curve=curve)
    ReadingFactory(stack=stack, taken_at=timezone.now())
    return stack


def test_a_yard_without_owner_begins_with_the_welcome():
    assert Client().get("/")["Location"] == "/welcome/"


def test_a_yard_with_an_owner_asks_for_signing_in():
    UserFactory()
    assert Client().get("/")["Location"].startswith("/sign-in/")


def test_an_empty_yard_teaches_to_make_a_place(signed_in):
    text = today(signed_in)
    assert "Your first day" in text
    assert "/places/new/" in text


def test_a_yard_without_stacks_teaches_to_tag_one(signed_in):
    PlaceFactory()
    SpeciesFactory()
    text = today(signed_in)
    assert "Put the first tag on the first stack" in text
    assert "/tags/" in text


def test_where_the_guide_was_put_away_an_empty_yard_still_says_what_to_do(signed_in):
    signed_in.post("/first-day/")
    text = today(signed_in)
    assert "Your first day" not in text
    assert "Start with a place" in text
    PlaceFactory()
    assert "Tag your first stack" in today(signed_in)
    signed_in.post("/first-day/", {"back": "1"})
    assert "Your first day" in today(signed_in)


def test_a_charge_whose_day_has_come_is_to_be_loaded(signed_in):
    charge = charge_of(start_on=days_from_today(0))
    text = today(signed_in)
    assert f"Load {charge.kiln}" in text
    assert f"/charges/{charge.pk}/loading/" in text


def test_a_charge_for_later_is_only_coming(signed_in):
    charge = charge_of(start_on=days_from_today(4))
    text = today(signed_in)
    assert f"/charges/{charge.pk}/loading/" not in text
    assert text.index("Coming") < text.index(f"Load {charge.kiln}")


def test_a_half_loaded_kiln_says_how_far_it_is(signed_in):
    stacks = [ready_stack(), ready_stack()]
    charge = charge_of(*stacks)
    actions.load(charge=charge, stack=stacks[0], by=None, at=timezone.now())
    text = today(signed_in)
    assert f"Go on loading {charge.kiln}" in text
    assert "1 of 2 stacks are in" in text


def running(*stacks, ago):
    charge = charge_of(*stacks)
    charge.stacks.update(loaded_at=timezone.now())
    charge.started_at = timezone.now() - timedelta(days=ago)
    charge.start_on = days_from_today(-ago)
    charge.save()
    return charge


def test_a_running_kiln_stands_quietly_at_the_end(signed_in):
    charge = running(ago=4)
    text = today(signed_in)
    assert text.index("In the kilns") < text.index(f"{charge.kiln}, day 5")


def test_a_kiln_whose_days_are_over_is_to_be_looked_into(signed_in):
    charge = running(ago=12)
    text = today(signed_in)
    assert f"Look whether {charge.kiln} is done" in text
    assert "day 13" in text


def test_a_half_unloaded_kiln_says_how_far_it_is(signed_in):
    stack = ready_stack()
    charge = running(stack, ready_stack(), ago=12)
    actions.unload(charge=charge, stack=stack, place=PlaceFactory(), by=None, at=timezone.now())
    text = today(signed_in)
    assert f"Go on unloading {charge.kiln}" in text
    assert "1 of 2 stacks are out" in text


def test_ready_stacks_are_listed_with_their_moisture_and_those_in_a_charge_are_not(signed_in):
    free, busy = ready_stack(), ready_stack()
    charge_of(busy, start_on=days_from_today(9))
    text = today(signed_in)
    assert f"/stacks/{free.code}/" in text
    assert "14.0 %" in text
    assert f"/stacks/{busy.code}/" not in text.split("Coming")[0].split("Due a reading")[0]


def test_a_proposal_that_begins_soon_is_to_be_decided(signed_in):
    proposal = propose(start_on=days_from_today(3))
    text = today(signed_in)
    assert "Decide on a charge" in text
    assert f"/proposals/{proposal.pk}/" in text


def test_a_proposal_for_later_is_only_coming(signed_in):
    propose(start_on=days_from_today(20))
    text = today(signed_in)
    assert "Decide on a charge" not in text
    assert "a charge proposed from" in text


def test_a_proposal_whose_day_is_past_is_not_offered(signed_in):
    proposal = propose(start_on=days_from_today(-1))
    assert f"/proposals/{proposal.pk}/" not in today(signed_in)


def test_ready_stacks_without_a_plan_ask_for_one(signed_in):
    KilnFactory()
    ready_stack()
    assert "Plan the kilns" in today(signed_in)


def test_ready_stacks_without_a_kiln_ask_for_one(owner_in):
    ready_stack()
    text = today(owner_in)
    assert "Add a kiln" in text
    assert "/kilns/new/" in text


def test_a_stack_not_read_for_weeks_is_due_a_reading(signed_in):
    stack = ready_stack()
    text = today(signed_in)
    assert text.index("Due a reading") < text.rindex(f"/stacks/{stack.code}/")


def test_a_warning_names_its_stack_and_what_helps(signed_in):
    stack = later_stack()
    stack.species.safe_rate_pct_per_day = 1.5
    stack.species.save()
    stack.outlook.curve = {
        "day": [days_from_today(-1).toordinal(), days_from_today(9).toordinal()],
        "p10": [85, 20], "p50": [90, 25], "p90": [95, 30],
    }  # fmt: skip
    stack.outlook.save()
    text = today(signed_in)
    assert "It dries too fast" in text
    assert f"/stacks/{stack.code}/" in text.split("It dries too fast")[0]
    assert "What helps" in text


def test_when_nothing_is_due_it_says_so_and_what_comes_next(signed_in):
    stack = later_stack()
    text = today(signed_in)
    assert "Nothing is due today" in text
    assert f"/stacks/{stack.code}/" in text.split("Coming")[1]


def queries(browser, django_assert_max_num_queries):
    with django_assert_max_num_queries(200) as counted:
        browser.get("/")
    return len(counted)


def test_the_page_asks_as_often_for_thirty_stacks_as_for_three(signed_in, django_assert_max_num_queries):
    kiln = KilnFactory()
    for _ in range(3):
        ready_stack()
    charge_of(ready_stack(), kiln=kiln, start_on=days_from_today(9))
    propose(kiln, start_on=days_from_today(3))
    few = queries(signed_in, django_assert_max_num_queries)
    for _ in range(27):
        ready_stack()
    for ahead in (30, 50):
        charge_of(ready_stack(), ready_stack(), kiln=kiln, start_on=days_from_today(ahead))
    assert queries(signed_in, django_assert_max_num_queries) == few
