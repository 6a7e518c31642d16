"""The first page of an empty yard: owner, mill, place and kiln at once, or nothing."""

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from kilnruns.models import Kiln
from tests.factories import UserFactory
from tests.kilnruns.test_views_kiln import GIVEN as KILN
from yard.models import Mill, Place

pytestmark = pytest.mark.django_db

GIVEN = {
    "owner-username": "ada",
    "owner-password1": "bark and heartwood 7",
    "owner-password2": "bark and heartwood 7",
    "mill-name": "Our mill",
    "mill-currency": "EUR",
    "place-name": "Long shed",
    "place-kind": "roofed_shed",
    "place-preset": "temperate_inland",
    **{f"kiln-{name}": value for name, value in KILN.items()},
}


def test_it_makes_owner_mill_place_and_kiln_and_signs_in():
    browser = Client()
    assert browser.post("/welcome/", GIVEN)["Location"] == "/tags/"
    owner = get_user_model().objects.get()
    assert (owner.username, owner.is_staff) == ("ada", True)
    assert (Mill.current().name, Kiln.objects.get().place.name) == ("Our mill", "New kiln")
    assert browser.get("/tags/").status_code == 200


def test_the_place_gets_the_climate_that_was_chosen():
    Client().post("/welcome/", GIVEN)
    place = Place.objects.get(name="Long shed")
    assert len(place.temperatures_c) == len(place.humidities_pct) == 12
    assert max(place.temperatures_c) > min(place.temperatures_c)


@pytest.mark.parametrize(
    ("field", "value", "form"),
    [
        ("owner-password2", "something else", "owner_form"),
        ("owner-password1", "short", "owner_form"),
        ("mill-name", "", "mill_form"),
        ("place-preset", "the moon", "place_form"),
        ("place-kind", "kiln", "place_form"),
        ("kiln-heater_kw", "", "kiln_form"),
        ("kiln-name", "long SHED", "kiln_form"),
    ],
)
def test_a_wrong_answer_is_refused_at_its_field_and_nothing_is_made(field, value, form):
    response = Client().post("/welcome/", {**GIVEN, field: value})
    assert response.status_code == 422
    assert response.context[form].errors
    assert response.context["kiln_form"]["length_mm"].value() == "5300"
    assert not get_user_model().objects.exists()
    assert not Place.objects.exists()


def test_once_there_is_an_owner_the_page_is_gone():
    UserFactory()
    assert Client().get("/welcome/")["Location"].startswith("/sign-in/")
    Client().post("/welcome/", GIVEN)
    assert get_user_model().objects.count() == 1
