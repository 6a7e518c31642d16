"""Whence a species' figures are: publications in their own words, all else in the reader's."""

import csv

import pytest
from django.conf import settings
from django.utils import translation

from drying.species import SPECIES
from yard.models import sourcewords
from yard.models.sourcewords import Part

TABLES = settings.BASE_DIR / "drying" / "tables"
PUBLISHED = ("Wood Handbook", "AH-188", "Wengert / FPL-GTR-118", "IPCC GPG-LULUCF")


def rows(name, column):
    with (TABLES / name).open(encoding="utf-8", newline="") as file:
        return sorted({row[column] for row in csv.DictReader(file)} - {""})


def joined(parts):
    return " ".join(part.text for part in parts)


def test_what_the_book_s_table_says_itself_is_known():
    quoted = {part.text for kept in rows("species_figures.csv", "source") for part in sourcewords.told(kept)
              if part.is_quoted}  # fmt: skip
    foreign = {text for text in quoted if not text.startswith(PUBLISHED)}
    assert {text for text in foreign if " times, green " not in text and not text.startswith("Simpson & Hart")} == set()
    remarks = [part for kept in rows("species.csv", "note") for part in sourcewords.note(kept)]
    assert [part.text for part in remarks if part.is_quoted] == []
    assert len(quoted) > 10
    assert len(remarks) > 40


def test_in_english_it_stands_as_the_table_has_it():
    for kept in rows("species_figures.csv", "source"):
        assert joined(sourcewords.told(kept)) == kept
    for kept in rows("species.csv", "note"):
        assert joined(sourcewords.note(kept)) == f"{kept}."


@pytest.mark.parametrize(
    ("kept", "told"),
    [
        ("by analogy with red spruce, our choice", [Part("Vorbild: Amerikanische Rotfichte, unsere Wahl")]),
        (
            "by analogy with maple and ash, our choice; that one: AH-188, chapter 7",
            [
                Part("Vorbild: Ahorn und Esche, unsere Wahl;"),
                Part("der Wert dort:"),
                Part("AH-188, chapter 7", is_quoted=True),
            ],
        ),
        (
            "1.4 times the rate fitted by `manage.py refit` to times: AH-402",
            [
                Part(
                    "das 1,4-Fache der Trocknungsgeschwindigkeit, die mit `manage.py refit` angepasst ist an:",
                ),
                Part("times: AH-402", is_quoted=True),
            ],
        ),
        ("Wood Handbook, table 4-3", [Part("Wood Handbook, table 4-3", is_quoted=True)]),
        ("", []),
    ],
)
def test_it_is_told_in_german(kept, told):
    with translation.override("de"):
        assert sourcewords.told(kept) == told


@pytest.mark.django_db
def test_a_species_page_marks_what_is_quoted(signed_in):
    from django.core.management import call_command

    call_command("load_species", verbosity=0)
    signed_in.cookies["django_language"] = "de"
    text = " ".join(signed_in.get("/species/hornbeam/").content.decode().split())
    assert "unsere Wahl" in text
    assert '<span lang="en">' in text
    assert "by analogy" not in text
    assert len(SPECIES) > 60
