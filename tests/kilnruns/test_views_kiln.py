"""A kiln: added, changed, closed for days; owners only write."""

import pytest

from kilnruns.models import Closure, Kiln
from tests.factories import PlaceFactory
from tests.kilnruns.factories import ClosureFactory, KilnFactory, days_from_today

pytestmark = pytest.mark.django_db

GIVEN = {
    "name": "New kiln",
    "loading": "hand",
    "length_mm": "5300",
    "width_mm": "1250",
    "height_mm": "1300",
    "longest_board_mm": "5200",
    "sticker_mm": "20",
    "max_temperature_c": "60",
    "heater_kw": "6,5",
    "heater_phases": "3",
    "fan_kw": "0.3",
    "wall_u_w_m2k": "0,45",
    "may_split": "on",
    "cost_per_day": "6",
    "price_per_kwh": "0.28",
}


def test_an_owner_adds_a_kiln_with_its_place(owner_in):
    response = owner_in.post("/kilns/new/", GIVEN)
    kiln = Kiln.objects.get()
    assert response["Location"] == "/kilns/"
    assert (kiln.place.name, kiln.place.kind, kiln.length_mm) == ("New kiln", "kiln", 5300)


def test_a_drying_units_limits_are_kept(owner_in):
    owner_in.post("/kilns/new/", {**GIVEN, "largest_air_m3": "6,5", "blow_length_mm": "1200"})
    kiln = Kiln.objects.get()
    assert (kiln.largest_air_m3, kiln.blow_length_mm) == (6.5, 1200)


def test_a_comma_is_a_decimal_sign(owner_in):
    owner_in.post("/kilns/new/", GIVEN)
    kiln = Kiln.objects.get()
    assert (kiln.heater_kw, kiln.wall_u_w_m2k) == (6.5, 0.45)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", ""),
        ("length_mm", "5.3"),
        ("length_mm", "53000"),
        ("width_mm", "1250.5"),
        ("height_mm", "tall"),
        ("longest_board_mm", "5400"),
        ("sticker_mm", "0"),
        ("max_temperature_c", "140"),
        ("heater_kw", "0"),
        ("heater_phases", "0"),
        ("wall_u_w_m2k", "nan"),
        ("price_per_kwh", "30"),
        ("loading", "thrown"),
        ("largest_air_m3", "0.2"),
        ("largest_air_m3", "much"),
        ("blow_length_mm", "12"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_stays_as_typed(owner_in, field, value):
    response = owner_in.post("/kilns/new/", {**GIVEN, field: value})
    form = response.context["form"]
    assert response.status_code == 422
    assert list(form.errors) == [field]
    assert form[field].value() == value
    assert form["name"].value() == ("" if field == "name" else "New kiln")
    assert not Kiln.objects.exists()


def test_a_name_that_a_place_bears_already_is_refused(owner_in):
    PlaceFactory(name="new KILN")
    assert "choose another name" in owner_in.post("/kilns/new/", GIVEN).content.decode()


def test_only_an_owner_adds_a_kiln(signed_in):
    assert signed_in.post("/kilns/new/", GIVEN).status_code == 403
    assert not Kiln.objects.exists()


def test_an_owner_changes_a_kiln_and_its_name(owner_in):
    kiln = KilnFactory()
    owner_in.post(f"/kilns/{kiln.pk}/", {**GIVEN, "heater_kw": "9"})
    kiln.refresh_from_db()
    kiln.place.refresh_from_db()
    assert (kiln.heater_kw, kiln.place.name) == (9, "New kiln")


def test_a_kiln_keeps_its_own_name(owner_in):
    kiln = KilnFactory()
    assert owner_in.post(f"/kilns/{kiln.pk}/", {**GIVEN, "name": kiln.place.name}).status_code == 302


def test_others_see_a_kiln_but_do_not_change_it(signed_in):
    kiln = KilnFactory(heater_kw=6)
    assert "4200 × 1200 × 1200\u202fmm" in signed_in.get(f"/kilns/{kiln.pk}/").content.decode()
    assert signed_in.post(f"/kilns/{kiln.pk}/", GIVEN).status_code == 403
    kiln.refresh_from_db()
    assert kiln.heater_kw == 6


def test_an_owner_closes_a_kiln_for_days(owner_in):
    kiln = KilnFactory()
    days = {"first_day": days_from_today(3).isoformat(), "last_day": days_from_today(5).isoformat(), "reason": "lent"}
    owner_in.post(f"/kilns/{kiln.pk}/closures/", days)
    assert kiln.closures.get().reason == "lent"
    assert "lent" in owner_in.get(f"/kilns/{kiln.pk}/").content.decode()


@pytest.mark.parametrize(("last", "field"), [(2, "last_day"), (None, "last_day")])
def test_days_that_run_backwards_or_lack_an_end_are_refused(owner_in, last, field):
    kiln = KilnFactory()
    given = {"first_day": days_from_today(3), "last_day": days_from_today(last) if last else "", "reason": "lent"}
    response = owner_in.post(f"/kilns/{kiln.pk}/closures/", given)
    assert response.status_code == 422
    assert list(response.context["closure_form"].errors) == [field]
    assert response.context["closure_form"]["reason"].value() == "lent"
    assert not Closure.objects.exists()


def test_an_owner_lifts_a_closure(owner_in):
    closure = ClosureFactory()
    owner_in.post(f"/closures/{closure.pk}/lift/")
    assert not Closure.objects.exists()


def test_others_close_and_lift_nothing(signed_in):
    closure = ClosureFactory()
    signed_in.post(f"/closures/{closure.pk}/lift/")
    days = {"first_day": days_from_today(8), "last_day": days_from_today(9)}
    signed_in.post(f"/kilns/{closure.kiln_id}/closures/", days)
    assert list(Closure.objects.all()) == [closure]


def test_a_kiln_that_is_not_there_is_not_found(owner_in):
    assert owner_in.get("/kilns/999/").status_code == 404
