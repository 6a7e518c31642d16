"""A charge's own schedule: changed by hand, refused in words, put back, kept for the kiln's next charges."""

import psychrolib
import pytest
from django.test import Client
from django.utils import timezone

from kilnruns import advice
from kilnruns.actions.charges import accept
from kilnruns.models import KilnSchedule, ScheduleChange
from kilnruns.planning.basis import basis
from kilnruns.running.inhand import RunInHand
from tests.factories import SpeciesFactory, UserFactory
from tests.kilnruns.factories import COURSE, KilnFactory, charge_of, propose, ready_stack

pytestmark = pytest.mark.django_db


@pytest.fixture
def charge():
    charge = charge_of(ready_stack(), course={**COURSE, "notes": []})
    charge.kiln.humidifies = True
    charge.kiln.save()
    return charge


def form_of(page):
    """What a browser would send of the forms on a page."""
    steps, closing = page.context["steps"], page.context["closing"]
    data = {"step-TOTAL_FORMS": len(steps.forms), "step-INITIAL_FORMS": steps.initial_form_count()}
    for form in steps.forms:
        for field in form:
            if field.value() not in (None, False):
                data[field.html_name] = field.field.prepare_value(field.value())
    return data | {field.name: field.value() for field in closing if field.name != "harder_seen"}


def send(client, charge, do="keep", **changed):
    address = f"/charges/{charge.pk}/schedule/"
    data = form_of(client.get(address)) | {name.replace("__", "-"): value for name, value in changed.items()}
    return client.post(address, data | {"do": do})


def words(answer):
    return answer.content.decode().replace("\u202f", " ").replace("\xa0", " ")


def kept_steps(charge):
    charge.refresh_from_db()
    return [(row["from_pct"], row["dry_bulb_c"], row["wet_bulb_c"]) for row in charge.course["steps"]]


def test_sent_as_it_stands_nothing_of_it_changes(signed_in, charge):
    before = kept_steps(charge)
    assert send(signed_in, charge).url == charge.get_absolute_url()
    assert kept_steps(charge) == before
    assert ScheduleChange.objects.get().harder == []


def test_one_figure_of_the_air_is_changed_and_the_others_follow(signed_in, charge):
    page = send(signed_in, charge, do="reckon", step__1__emc_pct="9")
    row = page.context["steps"].forms[1]
    assert float(row["wet_bulb_c"].value()) > 43
    assert row["emc_pct"].value() == "9"
    assert "no harder than what was proposed" in words(page)
    assert kept_steps(charge)[1][2] == 43.0, "only shown, not kept"
    send(signed_in, charge, step__1__emc_pct="9")
    assert charge.__class__.objects.get().course["steps"][1]["emc_pct"] == 9.0


def test_a_milder_step_is_what_the_run_is_told_and_watched_by(signed_in, charge):
    send(signed_in, charge, step__0__wet_bulb_c="45")
    charge.refresh_from_db()
    run = RunInHand(charge, [], [], [])
    assert run.schedule.steps[0].wet_bulb_c == 45
    assert charge.course["code"] == COURSE["code"]
    assert "Written by hand for this charge" in words(signed_in.get(charge.get_absolute_url()))


def test_harder_steps_want_a_deliberate_word_and_say_by_how_much(signed_in, charge):
    refused = send(signed_in, charge, step__0__wet_bulb_c="38")
    assert refused.status_code == 422
    assert "Harder than what was proposed" in words(refused)
    assert "points of EMC drier" in words(refused)
    assert refused.context["steps"].forms[0]["wet_bulb_c"].value() == "38"
    assert kept_steps(charge)[0][2] == 43.0
    data = form_of(refused) | {"do": "keep", "harder_seen": "on"}
    assert signed_in.post(f"/charges/{charge.pk}/schedule/", data).status_code == 302
    assert kept_steps(charge)[0][2] == 38.0
    [change] = ScheduleChange.objects.all()
    assert change.harder[0]["from_pct"] is None
    assert change.harder[0]["drier_pct"] > 2
    assert "harder than proposed" in words(signed_in.get(f"/charges/{charge.pk}/schedule/"))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"step__1__dry_bulb_c": "75"}, "This kiln bears 60 °C at most"),
        ({"step__1__wet_bulb_c": "58"}, "never warmer than the dry bulb"),
        ({"step__1__wet_bulb_c": "40", "step__1__emc_pct": "12"}, "Change one of wet bulb, RH and EMC alone"),
        ({"step__1__emc_pct": "33"}, "No air of this dry bulb has that"),
        ({"step__1__from_pct": ""}, "From which moisture on?"),
        ({"step__1__dry_bulb_c": "warm"}, "Enter a number"),
        ({"equalise_pct": ""}, "required"),
    ],
)
def test_what_can_t_be_is_told_at_its_field_and_stays_as_typed(signed_in, charge, changed, said):
    answer = send(signed_in, charge, **changed)
    assert answer.status_code == 422
    assert said in words(answer)
    [(name, value), *_rest] = changed.items()
    field = name.replace("__", "-")
    bound = {one.html_name: one for form in answer.context["steps"].forms for one in form}
    bound |= {one.name: one for one in answer.context["closing"]}
    assert bound[field].value() == value
    assert not ScheduleChange.objects.exists()


def test_steps_are_added_taken_out_and_kept_in_order(signed_in, charge):
    page = send(signed_in, charge, do="more", step__0__wet_bulb_c="45,5")
    assert len(page.context["steps"].forms) == 3
    assert page.context["steps"].forms[0]["wet_bulb_c"].value() == "45,5", "nothing typed is lost"
    more = form_of(page) | {"step-2-from_pct": "20", "step-2-dry_bulb_c": "56", "step-2-wet_bulb_c": "46"}
    refused = signed_in.post(f"/charges/{charge.pk}/schedule/", more | {"do": "keep"})
    assert "must be less than the step before" in words(refused)
    signed_in.post(f"/charges/{charge.pk}/schedule/", more | {"do": "keep", "step-2-from_pct": "12"})
    assert [row[0] for row in kept_steps(charge)] == [None, 15.0, 12.0]
    send(signed_in, charge, step__1__out="on", step__1__dry_bulb_c="nonsense in what goes")
    assert [row[0] for row in kept_steps(charge)] == [None, 12.0]


def test_back_to_the_proposed_steps_with_one_tap(signed_in, charge):
    before = kept_steps(charge)
    send(signed_in, charge, step__0__wet_bulb_c="45")
    send(signed_in, charge, step__0__wet_bulb_c="44")
    signed_in.post(f"/charges/{charge.pk}/schedule/restore/")
    assert kept_steps(charge) == before
    assert "proposed" not in charge.course
    assert [one.restored for one in charge.schedule_changes.all()] == [True, False, False]
    again = signed_in.post(f"/charges/{charge.pk}/schedule/restore/", follow=True)
    assert "proposed one already" in words(again)


def test_a_charge_that_is_out_keeps_what_it_was_run_by(signed_in, charge):
    charge.unloaded_at = timezone.now()
    charge.save()
    assert signed_in.get(f"/charges/{charge.pk}/schedule/").url == charge.get_absolute_url()


def test_before_the_start_the_run_is_predicted_anew_and_after_it_the_forecast_stays(signed_in):
    proposal = propose(KilnFactory(humidifies=True))
    charge = accept(proposal=proposal, by=None, at=timezone.now())
    first = charge.course["run"]
    assert first["band"]["days"]["low"] < first["days"] < first["band"]["days"]["high"]
    assert first["band"]["cost"]["low"] < first["band"]["cost"]["high"]
    assert len(first["ruled_by_step"]) == len(charge.course["steps"])
    row = charge.course["steps"][0]
    send(signed_in, charge, **{f"step__{n}__wet_bulb_c": str(one["wet_bulb_c"] + 2) for n, one in enumerate([row])})
    charge.refresh_from_db()
    slower = charge.course["run"]
    assert slower["days"] >= first["days"]
    assert slower["curve"] != first["curve"]
    charge.started_at = timezone.now()
    charge.save()
    send(signed_in, charge, step__0__wet_bulb_c=str(row["wet_bulb_c"] + 1))
    charge.refresh_from_db()
    assert charge.course["run"] == slower
    shown = words(signed_in.get(charge.get_absolute_url()))
    assert "Days, four times in five" in shown


def test_kept_for_the_kiln_the_next_charge_of_that_wood_starts_from_it(signed_in, user, charge):
    user.is_staff = True
    user.save()
    send(signed_in, charge, step__0__wet_bulb_c="44")
    was = basis(False)["kilns"]
    signed_in.post(f"/charges/{charge.pk}/schedule/for-kiln/")
    kept = KilnSchedule.objects.get()
    assert basis(False)["kilns"] != was, "plans made before it are out of date"
    stack = charge.stacks.get().stack
    like = ready_stack(stack.species, thickness_mm=stack.thickness_mm + 2)
    other = ready_stack(stack.species, thickness_mm=stack.thickness_mm + 20)
    assert advice.schedule(charge.kiln, [like]).code == "own"
    assert advice.schedule(charge.kiln, [like]).steps[0].wet_bulb_c == pytest.approx(44)
    assert advice.schedule(charge.kiln, [other]).code != "own"
    assert advice.schedule(KilnFactory(), [like]).code != "own"
    assert "from the charge of" in words(signed_in.get(charge.kiln.get_absolute_url()))
    charge.kiln.max_temperature_c = 50
    assert advice.schedule(charge.kiln, [like]).code != "own", "the kiln bears less now"
    signed_in.post(f"/kilns/schedules/{kept.pk}/drop/")
    charge.kiln.max_temperature_c = 60
    assert advice.schedule(charge.kiln, [like]).code != "own"


def test_of_several_woods_none_is_kept_for_the_kiln(signed_in, user):
    user.is_staff = True
    user.save()
    charge = charge_of(ready_stack(), ready_stack(SpeciesFactory()), course=COURSE)
    send(signed_in, charge, step__0__wet_bulb_c="44")
    answer = signed_in.post(f"/charges/{charge.pk}/schedule/for-kiln/", follow=True)
    assert "Several woods are in it" in words(answer)
    assert not KilnSchedule.objects.exists()


def test_only_an_owner_keeps_it_for_the_kiln(charge):
    client = Client()
    client.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
    assert client.post(f"/charges/{charge.pk}/schedule/for-kiln/").status_code == 403


def test_a_step_cooler_than_the_one_before_is_refused_at_its_field(signed_in, charge):
    before = kept_steps(charge)
    refused = send(signed_in, charge, step__1__dry_bulb_c="44", step__1__wet_bulb_c="40")
    assert refused.status_code == 422
    assert "never cooler: at least" in words(refused)
    assert kept_steps(charge) == before


def test_in_a_kiln_high_up_the_same_air_is_told_by_the_wet_bulb_that_shows_there(signed_in):
    """Kept at the sea, opened at 1,500 m: RH and EMC stay, the wet bulb is lower (psychrolib, ASHRAE 2017 ch. 1)."""
    charge = charge_of(ready_stack(), course={**COURSE, "notes": []})
    charge.kiln.place.altitude_m = 1500
    charge.kiln.place.save()
    at_sea = charge.course["steps"][0]
    send(signed_in, charge)
    charge.refresh_from_db()
    high = charge.course["steps"][0]
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = psychrolib.GetStandardAtmPressure(1500)
    humidity = psychrolib.GetRelHumFromTWetBulb(at_sea["dry_bulb_c"], at_sea["wet_bulb_c"], 101325)
    theirs = psychrolib.GetTWetBulbFromRelHum(at_sea["dry_bulb_c"], humidity, pressure)
    assert high["wet_bulb_c"] == pytest.approx(theirs, abs=0.06)
    assert high["altitude_m"] == 1500
    assert ScheduleChange.objects.get().harder == []
    assert "1,500 m above the sea" in words(signed_in.get(charge.get_absolute_url()))


def test_what_follows_tells_days_cost_and_air_that_the_kiln_cannot_hold(signed_in, charge):
    """A last step far drier than the air outdoors lets a vented kiln be is told with both figures, before it is kept;
    the figures are the model's own of that run."""
    charge.kiln.heater_kw = 0.4
    charge.kiln.save()
    last = len(charge.course["steps"]) - 1
    hot = charge.kiln.max_temperature_c
    answer = send(signed_in, charge, do="reckon", **{f"step__{last}__dry_bulb_c": f"{hot:g}"})
    run = answer.context["run"]
    assert answer.status_code == 200
    [told] = [one for one in run["not_held"] if one["step"] == last + 1]
    assert told["called_c"] == pytest.approx(hot, abs=0.1)
    assert told["held_c"] < hot - 2
    page = words(answer)
    assert f"Called for are {hot:.0f} °C, it comes to about {told['held_c']:.0f} °C." in page
    assert "What follows from this" in page
    assert ScheduleChange.objects.count() == 0


def test_air_that_is_held_is_not_talked_of(signed_in, charge):
    answer = send(signed_in, charge, do="reckon")
    assert answer.context["run"]["not_held"] == []
    assert "Called for" not in words(answer)
