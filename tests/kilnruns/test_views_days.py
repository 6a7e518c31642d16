"""Loading days and days off; bookings made, changed and told of; a kiln that is not yet known."""

import pytest
from django.utils import timezone

from kilnruns.models import Closure, DayOff, PlanningRules
from tests.kilnruns.factories import ClosureFactory, KilnFactory, charge_of, days_from_today, propose, ready_stack

pytestmark = pytest.mark.django_db


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def span(first, last, **more):
    return {"first_day": days_from_today(first).isoformat(), "last_day": days_from_today(last).isoformat(), **more}


def test_an_owner_ticks_the_loading_days(owner_in):
    form = owner_in.get("/setup/days/").context["form"]
    assert form["days"].value() == [0, 1, 2, 3, 4, 5]
    owner_in.post("/setup/days/", {"days": ["5", "1"]})
    assert PlanningRules.current().loading_days == [1, 5]
    assert PlanningRules.current().are_usual


@pytest.mark.parametrize("given", [{}, {"days": ["7"]}])
def test_no_day_at_all_and_days_that_are_none_are_refused(owner_in, given):
    assert owner_in.post("/setup/days/", given).status_code == 422
    assert not PlanningRules.objects.exists()


def test_days_off_are_added_changed_and_lifted(owner_in):
    owner_in.post("/setup/days/off/", span(3, 4, reason="Village fair"))
    off = DayOff.objects.get()
    assert "Village fair" in words(owner_in.get("/setup/days/"))
    assert "Village fair" in words(owner_in.get(f"/setup/days/off/{off.pk}/"))
    owner_in.post(f"/setup/days/off/{off.pk}/", span(5, 5, reason="Fair, one day"))
    off.refresh_from_db()
    assert (off.first_day, off.last_day, off.reason) == (days_from_today(5), days_from_today(5), "Fair, one day")
    owner_in.post(f"/setup/days/off/{off.pk}/lift/")
    assert not DayOff.objects.exists()


def test_days_off_that_run_backwards_are_refused_and_stay_as_typed(owner_in):
    response = owner_in.post("/setup/days/off/", span(5, 3, reason="Away"))
    assert response.status_code == 422
    assert response.context["off_form"]["reason"].value() == "Away"
    off = DayOff.objects.create(first_day=days_from_today(1), last_day=days_from_today(2))
    response = owner_in.post(f"/setup/days/off/{off.pk}/", span(5, 3, reason="Away"))
    assert response.status_code == 422
    assert response.context["form"]["reason"].value() == "Away"


def test_days_off_that_are_over_are_not_shown(owner_in):
    DayOff.objects.create(first_day=days_from_today(-9), last_day=days_from_today(-8), reason="Long past")
    assert "Long past" not in words(owner_in.get("/setup/days/"))


def test_others_change_no_days(signed_in):
    off = DayOff.objects.create(first_day=days_from_today(1), last_day=days_from_today(2))
    paths = ["/setup/days/", "/setup/days/off/", f"/setup/days/off/{off.pk}/", f"/setup/days/off/{off.pk}/lift/"]
    assert {signed_in.post(path, span(3, 4)).status_code for path in paths} == {403}
    assert DayOff.objects.count() == 1


def test_a_kiln_is_booked_from_the_kilns_page(owner_in):
    kiln = KilnFactory()
    assert "/closures/new/" in words(owner_in.get("/kilns/"))
    owner_in.post("/closures/new/", {"kiln": kiln.pk, **span(3, 5, reason="Lent for hay")})
    closure = Closure.objects.get()
    text = words(owner_in.get("/kilns/"))
    assert f"/closures/{closure.pk}/" in text
    assert "Lent for hay" in text


def test_a_booking_is_changed(owner_in):
    closure, other = ClosureFactory(), KilnFactory()
    assert "Fan bearings" in words(owner_in.get(f"/closures/{closure.pk}/"))
    owner_in.post(f"/closures/{closure.pk}/", {"kiln": other.pk, **span(7, 8, reason="Lent")})
    closure.refresh_from_db()
    assert (closure.kiln, closure.first_day, closure.reason) == (other, days_from_today(7), "Lent")


def test_a_booking_that_runs_backwards_is_refused_and_stays_as_typed(owner_in):
    closure = ClosureFactory()
    for path in (f"/closures/{closure.pk}/", "/closures/new/"):
        response = owner_in.post(path, {"kiln": closure.kiln_id, **span(7, 6, reason="Hay")})
        assert response.status_code == 422
        assert response.context["form"]["reason"].value() == "Hay"
    assert Closure.objects.get().reason == "Fan bearings"


@pytest.mark.parametrize(("first", "last", "told"), [(5, 6, True), (13, 14, True), (14, 15, False), (0, 1, False)])
def test_a_charge_in_the_way_of_a_booking_is_told_of(owner_in, first, last, told):
    kiln = KilnFactory()
    charge_of(ready_stack(), kiln=kiln, start_on=days_from_today(2), days=12)
    response = owner_in.post("/closures/new/", {"kiln": kiln.pk, **span(first, last)}, follow=True)
    assert ("A charge stands in" in words(response)) is told
    page = words(owner_in.get(f"/closures/{Closure.objects.get().pk}/"))
    assert ("A charge stands in the way" in page) is told


def test_a_charge_that_is_over_or_called_off_stands_in_nobodys_way():
    kiln = KilnFactory()
    charge_of(ready_stack(), kiln=kiln, start_on=days_from_today(2), called_off_at=timezone.now())
    assert ClosureFactory(kiln=kiln).in_the_way() == []


def test_others_book_nothing(signed_in):
    closure = ClosureFactory()
    paths = ["/closures/new/", f"/closures/{closure.pk}/", f"/closures/{closure.pk}/lift/"]
    assert {signed_in.post(path, span(3, 4)).status_code for path in paths} == {403}
    assert "/closures/new/" not in words(signed_in.get("/kilns/"))


def test_a_kiln_without_a_finished_run_says_so_until_an_owner_overrules(owner_in, signed_in):
    kiln = KilnFactory(trusted=False)
    assert "Not yet known" in words(owner_in.get(f"/kilns/{kiln.pk}/"))
    assert signed_in.post(f"/kilns/{kiln.pk}/trust/", {"trusted": "yes"}).status_code == 403
    owner_in.post(f"/kilns/{kiln.pk}/trust/", {"trusted": "yes"})
    kiln.refresh_from_db()
    assert kiln.trusted
    assert "Not yet known" not in words(owner_in.get(f"/kilns/{kiln.pk}/"))
    owner_in.post(f"/kilns/{kiln.pk}/trust/", {"trusted": "no"})
    kiln.refresh_from_db()
    assert not kiln.trusted


def test_a_kiln_with_a_finished_run_is_known(owner_in):
    kiln = KilnFactory(trusted=False)
    charge_of(ready_stack(), kiln=kiln, started_at=timezone.now(), unloaded_at=timezone.now())
    assert "Not yet known" not in words(owner_in.get(f"/kilns/{kiln.pk}/"))


def test_the_plan_says_which_kiln_is_not_yet_known_and_how_to_overrule(owner_in):
    proposal = propose(KilnFactory(trusted=False))
    proposal.plan.notes = {"unknown": [{"kiln": proposal.kiln_id, "easy": 2, "ahead": False}]}
    proposal.plan.save()
    text = words(owner_in.get(f"/plans/{proposal.plan_id}/"))
    assert f"{proposal.kiln} is not yet known" in text
    assert "2 stacks of the yard are such" in text
    assert f'action="/kilns/{proposal.kiln_id}/trust/"' in text


def test_a_proposal_says_what_waiting_would_save_and_that_it_is_the_first(signed_in):
    waiting = [{"start_on": days_from_today(14).isoformat(), "days": 3, "kwh": 12.2, "cost": 8.7}]
    proposal = propose(extra={"waiting": waiting, "first": True})
    text = words(signed_in.get(f"/proposals/{proposal.pk}/"))
    assert "instead would save 3 days of kiln (12 kWh, 9 EUR)" in text
    assert "The first charge of a kiln that is not yet known" in text
