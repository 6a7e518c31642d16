"""The book of species is filled from the packaged table and keeps what an owner wrote."""

import pytest
from django.utils import timezone

from tests.factories import SpeciesFactory, UserFactory
from yard import outlook
from yard.actions import places
from yard.actions import species as actions
from yard.models import Place, Species

pytestmark = pytest.mark.django_db


def test_loading_writes_every_packaged_species_and_may_be_repeated():
    count = actions.load_species()
    assert count == Species.objects.count() == len(outlook.book_species())
    Species.objects.filter(key="white_oak").update(rate=9)
    assert actions.load_species() == count == Species.objects.count()
    assert Species.objects.get(key="white_oak").rate < 1


def test_what_was_added_or_changed_here_is_left_alone():
    actions.load_species()
    oak = Species.objects.get(key="white_oak")
    oak.rate = 0.7
    actions.keep_species(species=oak, by=UserFactory(), at=timezone.now())
    Species.objects.filter(key="black_ash").delete()
    SpeciesFactory(key="ash_of_ours", name="black ash", is_own=True)  # the name that the table has too
    actions.load_species()
    assert Species.objects.get(key="white_oak").rate == 0.7
    assert Species.objects.get(name="black ash").key == "ash_of_ours"


def test_a_preset_gives_a_place_its_climate_with_where_it_comes_from():
    place = Place(name="Row", kind="open_yard")
    preset = outlook.climate_presets()[-1]
    places.set_preset(place=place, key=preset.key, by=None)
    kept = Place.objects.get()
    assert (tuple(kept.temperatures_c), tuple(kept.humidities_pct)) == (preset.temperatures_c, preset.humidities_pct)
    assert preset.note in kept.climate_note
    with pytest.raises(KeyError):
        places.set_preset(place=place, key="moon", by=None)
