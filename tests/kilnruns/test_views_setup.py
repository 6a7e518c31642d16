"""What stands behind the user's name."""

import pytest

from tests.factories import PlaceFactory, TagFactory
from tests.kilnruns.factories import KilnFactory

pytestmark = pytest.mark.django_db


def test_it_leads_to_kilns_places_species_and_tags(owner_in):
    kiln, place = KilnFactory(), PlaceFactory()
    TagFactory()
    text = owner_in.get("/setup/").content.decode()
    for link in (f"/kilns/{kiln.pk}/", f"/places/{place.pk}/", "/species/", "/tags/", "/kilns/new/"):
        assert f'href="{link}"' in text
    assert "1 blank tag waits" in text


def test_only_an_owner_is_offered_to_add_a_kiln(signed_in):
    assert "/kilns/new/" not in signed_in.get("/setup/").content.decode()
