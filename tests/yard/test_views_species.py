"""The book of species."""

import pytest

from tests.factories import OutlookFactory, SpeciesFactory, StackFactory
from tests.yard.queries import queries_of
from yard.models import Outlook, Person, Species

pytestmark = pytest.mark.django_db

FIGURES = {
    "name": "River willow",
    "wood_class": "hardwood",
    "drying_group": "light_hardwood",
    "basic_density_kg_m3": "360",
    "permeability": "3",
    "rate": "0,35",
    "rate_log_sd": "0.6",
}


@pytest.fixture
def owner(signed_in, user):
    user.is_staff = True
    user.save()
    return signed_in


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_each_figure_has_its_source_and_a_recalled_one_says_so(signed_in):
    sources = {
        "basic_density_kg_m3": {"text": "a table that was read", "from_memory": False},
        "shrinkage_radial_pct": {"text": "a table from memory", "from_memory": True},
    }
    species = SpeciesFactory(sources=sources)
    text = text_of(signed_in.get(f"/species/{species.key}/"))
    assert "a table that was read" in text
    assert "a table from memory" in text
    assert text.count(">recalled</span>") == 1
    assert "400 kg/m³" in text


def test_a_reader_of_inches_has_the_figures_with_their_units(signed_in, user):
    species = SpeciesFactory(basic_density_kg_m3=570, safe_rate_pct_per_day=4, schedule_25mm="T8-B4")
    assert "570 kg/m³" in text_of(signed_in.get(f"/species/{species.key}/"))
    Person.objects.update_or_create(user=user, defaults={"units": "imperial"})
    text = text_of(signed_in.get(f"/species/{species.key}/")).replace("\u00a0", " ")
    assert "35.6 lb/ft³" in text
    assert "Safe loss of boards of 1 in<" in text
    assert "Kiln schedule, 1–1 1/2 in<" in text
    assert " mm<" not in text


def test_species_in_the_yard_come_first_and_can_be_searched(signed_in):
    SpeciesFactory(name="aspen"), StackFactory(species=SpeciesFactory(name="willow", latin_name="Salix alba"))
    text = text_of(signed_in.get("/species/"))
    assert text.index("Willow") < text.index("Aspen")
    found = text_of(signed_in.get("/species/?text=salix"))
    assert "Willow" in found
    assert "Aspen" not in found
    assert "No species of that name" in text_of(signed_in.get("/species/?text=zebrano"))


def test_an_owner_adds_one_and_is_its_source(owner, user):
    answer = owner.post("/species/new/", FIGURES)
    species = Species.objects.get()
    assert answer.url == f"/species/{species.key}/" == "/species/river_willow/"
    assert species.is_own
    assert species.rate == 0.35
    assert user.username in species.sources["rate"]["text"]
    assert not species.sources["rate"]["from_memory"]


def test_a_schedules_code_is_kept_as_the_tables_spell_it(owner):
    assert owner.post("/species/new/", FIGURES | {"schedule_25mm": "t11 d4"}).status_code == 302
    species = Species.objects.get()
    assert (species.schedule_25mm, species.schedule_50mm) == ("T11-D4", "")


def test_a_changed_figure_changes_its_source_alone_and_the_forecasts(owner):
    kept = OutlookFactory()
    here = OutlookFactory().stack
    read = {"text": "a table", "from_memory": True}
    species = here.species
    species.sources = {"rate": read, "basic_density_kg_m3": read}
    species.save()
    data = FIGURES | {"name": species.name, "wood_class": "softwood", "drying_group": "softwood"}
    data |= {"basic_density_kg_m3": "400", "permeability": "1", "rate": "0.5"}
    assert owner.post(f"/species/{species.key}/", data).status_code == 302
    species.refresh_from_db()
    assert species.sources["basic_density_kg_m3"] == read
    assert species.sources["rate"]["text"].startswith("set here by")
    assert list(Outlook.objects.all()) == [kept]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"name": ""}, "This field is required"),
        ({"basic_density_kg_m3": "3600"}, "from 100 to 1300 kg/m³"),
        ({"rate": "fast"}, "Enter a number"),
        ({"drying_group": "metal"}, "valid choice"),
        ({"name": "松"}, "Latin letters"),
        ({"schedule_25mm": "T4-G2"}, "Codes look like T4-D2"),
        ({"schedule_50mm": "like oak"}, "Codes look like T4-D2"),
        ({"name": "testwood"}, "There is a species of this name already"),
        ({"name": "Test-Wood"}, "nearly this name"),
    ],
)
def test_what_no_wood_has_is_refused_at_its_field(owner, data, words):
    SpeciesFactory(name="testwood", key="test_wood")
    answer = owner.post("/species/new/", FIGURES | data)
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert Species.objects.count() == 1


def test_a_wrong_change_is_refused_and_the_old_figures_stay_in_sight(owner):
    species = SpeciesFactory()
    answer = owner.post(f"/species/{species.key}/", FIGURES | {"name": "", "basic_density_kg_m3": "5"})
    assert answer.status_code == 422
    text = text_of(answer)
    assert "400 kg/m³" in text
    assert 'value="5"' in text


def test_who_is_no_owner_may_look_but_not_change(signed_in):
    species = SpeciesFactory()
    assert "Change it" not in text_of(signed_in.get(f"/species/{species.key}/"))
    assert signed_in.post(f"/species/{species.key}/", FIGURES).status_code == 403
    assert signed_in.get("/species/new/").status_code == 403
    assert signed_in.post("/species/new/", FIGURES).status_code == 403


def test_a_species_that_is_not_in_the_book_is_not_found(signed_in):
    assert signed_in.get("/species/unobtainium/").status_code == 404


def test_three_and_thirty_species_take_the_same_queries(signed_in):
    SpeciesFactory.create_batch(3)
    few = queries_of(signed_in, "/species/")
    SpeciesFactory.create_batch(27)
    assert queries_of(signed_in, "/species/") == few
