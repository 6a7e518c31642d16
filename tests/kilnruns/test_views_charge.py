"""A charge's page and sheet, calling it off, starting it."""

import re

import pytest
from django.utils import timezone

from kilnruns.actions import charges as actions
from kilnruns.actions.starting import start
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack

pytestmark = pytest.mark.django_db


def words(response):
    assert response.status_code == 200
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def shorn(response):
    """The page's words without its tags."""
    return " ".join(re.sub(r"<[^>]+>", " ", words(response)).split())


def loaded():
    stack = ready_stack()
    charge = charge_of(stack)
    actions.load(charge=charge, stack=stack, by=None, at=timezone.now())
    return charge


def running():
    charge = loaded()
    start(charge=charge, by=None, at=timezone.now())
    return charge


def test_a_planned_charge_leads_to_loading_and_to_its_sheet(signed_in):
    charge = charge_of()
    text = words(signed_in.get(f"/charges/{charge.pk}/"))
    for said in ("planned", "Load it", f"/charges/{charge.pk}/loading/", f"/charges/{charge.pk}/sheet/", "Call it off"):
        assert said in text


def test_a_running_charge_says_its_day_and_leads_to_unloading(signed_in):
    charge = running()
    text = words(signed_in.get(f"/charges/{charge.pk}/"))
    for said in ("drying", "Day 1", "of 8 to 18", f"/charges/{charge.pk}/unloading/"):
        assert said in text
    assert "Call it off" not in text


def test_a_run_over_its_days_says_when_it_was_to_be_done(signed_in):
    charge = running()
    charge.start_on = days_from_today(-13)
    charge.started_at = timezone.now()
    charge.save()
    assert "Day 14 of 8 to 18; was to be done about" in shorn(signed_in.get(f"/charges/{charge.pk}/"))


def test_a_charge_that_is_done_asks_for_nothing(signed_in):
    charge = charge_of(started_at=timezone.now(), unloaded_at=timezone.now())
    text = words(signed_in.get(f"/charges/{charge.pk}/"))
    assert "done" in text
    assert f"/charges/{charge.pk}/loading/" not in text
    assert f"/charges/{charge.pk}/unloading/" not in text


def test_the_kept_schedule_is_shown_with_its_closing_step(signed_in):
    text = words(signed_in.get(f"/charges/{charge_of().pk}/"))
    assert "56 °C" in text
    assert "Equalise when the driest sample board is at 6 %" in text
    assert "no conditioning" in text


def test_the_models_run_is_told_where_it_was_computed(signed_in):
    charge = charge_of()
    charge.course["run"] = {
        "reached": True, "days": 13.4, "heater_kwh": 390, "fan_kwh": 70, "peak_kw": 6.2, "limits": {"heater": 0.4},
    }  # fmt: skip
    charge.save()
    text = words(signed_in.get(f"/charges/{charge.pk}/"))
    assert "13 days; heater 390 kWh, fans 70 kWh, at most 6 kW" in text
    assert "What holds it back is the heater" in text


def test_a_charge_without_a_kept_schedule_still_has_its_page(signed_in):
    assert "How it lies" in words(signed_in.get(f"/charges/{charge_of(course={}).pk}/"))


def test_the_sheet_has_stacks_layers_boxes_samples_and_cautions(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    text = words(signed_in.get(f"/charges/{charge.pk}/sheet/"))
    shown = text.replace(" ", "")
    assert stack.code in shown
    assert text.count("tick-box") == 1 + text.count("load-layer")
    for said in ("Sample boards", "Layer by layer", "Mind before you start", "Heaviest board about"):
        assert said in text


def test_calling_off_frees_the_stacks(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    response = signed_in.post(f"/charges/{charge.pk}/call-off/", follow=True)
    stack.refresh_from_db()
    assert stack.set_aside_for == ""
    assert "called off" in words(response)


def test_a_loaded_charge_is_not_called_off_and_says_why(signed_in):
    charge = loaded()
    assert "in the kiln already" in words(signed_in.post(f"/charges/{charge.pk}/call-off/", follow=True))


def test_starting_notes_the_start(signed_in):
    charge = loaded()
    text = words(signed_in.post(f"/charges/{charge.pk}/start/", follow=True))
    charge.refresh_from_db()
    assert charge.started_at
    assert "Started" in text


def test_an_empty_kiln_is_not_started_and_says_why(signed_in):
    charge = charge_of()
    response = signed_in.post(f"/charges/{charge.pk}/start/")
    assert response.status_code == 422
    assert "at least one stack" in response.content.decode()
    charge.refresh_from_db()
    assert charge.started_at is None


@pytest.mark.parametrize("what", ["start", "call-off", "loading/back"])
def test_what_changes_a_charge_is_done_by_posting_only(signed_in, what):
    assert signed_in.get(f"/charges/{charge_of().pk}/{what}/").status_code == 405


@pytest.mark.parametrize("page", ["", "sheet/", "loading/", "unloading/"])
def test_a_charge_that_is_not_there_is_not_found(signed_in, page):
    assert signed_in.get(f"/charges/999/{page}").status_code == 404


@pytest.mark.parametrize("page", ["", "sheet/", "loading/", "unloading/"])
def test_its_pages_ask_as_often_for_ten_stacks_as_for_two(signed_in, page, django_assert_max_num_queries):
    def queries(count):
        charge = charge_of(*(ready_stack(lines=[(4000, 150, 8)]) for _ in range(count)), kiln=KilnFactory())
        with django_assert_max_num_queries(200) as counted:
            signed_in.get(f"/charges/{charge.pk}/{page}")
        return len(counted)

    queries(2)  # the session is made with the first
    assert queries(10) == queries(2)
