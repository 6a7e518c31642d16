"""A wood's name is kept as the book has it, and read, searched and ordered in the reader's language."""

import pytest
from django.utils import translation

from tests.factories import SpeciesFactory, StackFactory
from yard import outlook
from yard.exchange.given import species_text, wood_names
from yard.fields.naming import in_order
from yard.forms.species import SpeciesForm
from yard.models import Species
from yard.models.woodname import BOOK, kept_as, told

GERMAN = "Europäische Lärche"


@pytest.fixture
def german(monkeypatch):
    """A word of German, whatever the catalogue says."""
    words = {"European larch": GERMAN, "lime": "Linde"}
    monkeypatch.setattr(
        "yard.models.woodname.gettext",
        lambda text: words.get(text, text) if translation.get_language() == "de" else text,
    )
    with translation.override("de"):
        yield


@pytest.fixture
def larch(db):
    return SpeciesFactory(key="european_larch", name="European larch")


def test_each_name_of_the_book_can_be_translated():
    assert {fields["name"] for fields in outlook.book_species()} == BOOK


def test_it_is_read_in_german_and_kept_as_it_was(larch, german):
    row = Species.objects.get()
    assert (row.name, str(row), row.kept_name) == (GERMAN, GERMAN, "European larch")
    row.region = "Europe"
    row.full_clean()
    row.save()
    assert list(Species.objects.values_list("name", flat=True)) == ["European larch"]
    assert StackFactory(species=row).species.name == GERMAN


def test_a_form_shows_it_as_it_is_read_and_does_not_change_it(larch, german):
    row = Species.objects.get()
    assert SpeciesForm(instance=row)["name"].value() == GERMAN
    row.name = GERMAN
    assert row.kept_name == "European larch"
    row.name = "Berglärche"
    assert (row.name, row.kept_name) == ("Berglärche", "Berglärche")


def test_a_name_of_one_s_own_is_the_same_in_all_languages(german, db):
    own = SpeciesFactory(name="barn wood")
    assert (own.name, own.kept_name) == ("barn wood", "barn wood")


def test_it_is_found_by_what_is_read(larch, german, client, django_user_model):
    assert kept_as("lärche") == ["European larch"]
    assert kept_as("linde") == ["lime"]
    client.force_login(django_user_model.objects.create_user("runa"))
    client.cookies["django_language"] = "de"
    assert GERMAN in client.get("/species/", {"text": "lärche"}).content.decode()


def test_sheets_hold_the_book_s_name_and_take_the_reader_s(larch, german):
    assert species_text([larch]) == "European larch"
    assert wood_names(Species.objects.get()) == {"european_larch", "European larch", GERMAN}


def test_what_was_kept_elsewhere_is_read_too(german):
    assert told("European larch") == GERMAN
    assert told("barn wood") == "barn wood"


@pytest.mark.parametrize(
    ("language", "names"),
    [
        ("sv", ["al", "lind", "zebra", "ångest", "ädel", "ölandstok"]),
        ("de", ["ädel", "al", "ångest", "lind", "ölandstok", "zebra"]),
    ],
)
def test_names_stand_in_the_order_of_the_language(language, names):
    with translation.override(language):
        assert sorted(sorted(names), key=in_order) == names
