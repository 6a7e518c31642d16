"""A need's moisture by the air of the room that the wood will live in."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import SpeciesFactory
from yard.models import Need

pytestmark = pytest.mark.django_db


def sent(**more):
    wood = SpeciesFactory()
    line = {"species": wood.pk, "thickness_mm": "20", "quantity": "2", "unit": "m3"}
    day = (timezone.localdate() + timedelta(days=90)).isoformat()
    return {"name": "Table", "use": "other", "wanted_by": day, **line, **more}


# Wood Handbook (FPL-GTR-282), table 4-2: EMC at 70 °F (21.1 °C) and 40 % 7.7, 50 % 9.2, 65 % 12.0
@pytest.mark.parametrize(("humidity", "moisture"), [("40", 7.7), ("50", 9.2), ("65", 12.0)])
def test_the_handbooks_equilibrium_of_the_room_is_the_target(signed_in, humidity, moisture):
    signed_in.post("/needs/new/", sent(room_c="21,1", room_humidity_pct=humidity))
    need = Need.objects.get()
    assert need.target_pct == pytest.approx(moisture, abs=0.1)
    page = signed_in.get(f"/needs/{need.pk}/").content.decode().replace("\u202f", " ")
    assert f"It will live in air of 21 °C and {humidity} %" in page
    assert "it will shrink" not in page and "it will swell" not in page


@pytest.mark.parametrize(("target", "said"), [("14", "it will shrink there"), ("6", "it will swell there")])
def test_a_moisture_that_is_given_counts_and_what_follows_is_told(signed_in, target, said):
    signed_in.post("/needs/new/", sent(target_pct=target, room_c="20", room_humidity_pct="50"))
    need = Need.objects.get()
    assert need.target_pct == float(target)
    assert said in signed_in.get(f"/needs/{need.pk}/").content.decode()


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"room_c": "20"}, "room_humidity_pct"),
        ({"room_humidity_pct": "50"}, "room_c"),
        ({"room_c": "50", "room_humidity_pct": "50"}, "room_c"),
        ({"room_c": "20", "room_humidity_pct": "95"}, "room_humidity_pct"),
    ],
)
def test_half_an_air_or_no_rooms_is_told_at_its_field(signed_in, given, field):
    answer = signed_in.post("/needs/new/", sent(**given))
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not Need.objects.exists()


def test_without_a_room_the_use_says_it_as_before(signed_in):
    signed_in.post("/needs/new/", sent(use="floor"))
    need = Need.objects.get()
    assert (need.target_pct, need.room_c) == (8, None)
    assert "It will live" not in signed_in.get(f"/needs/{need.pk}/").content.decode()
