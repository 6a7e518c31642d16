"""The catalogues: nothing untranslated, doubtful, stale or spoiled, against the texts as the sources have them now."""

import os
from gettext import GNUTranslations
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from django.test import Client

from config.words import catalogues
from config.words.checking import faults
from config.words.collecting import as_python, collect, texts_of
from tests.factories import UserFactory
from tests.pseudo import OPEN, bare_words, write_into

TEMPLATE = """{% load i18n %}<p>{% translate "Sign in" %}</p>
  {% blocktranslate count n=blank %}{{ n }} tag's blank{% plural %}{{ n }} tags are blank{% endblocktranslate %}
{% with word=_("Today") %}{{ word }}{% endwith %} it's "quoted" 100 %"""
PYTHON = """
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
KIND = lazy("kept " "whole")
def said(n): return _("%(n)d\\u202fmm") % {"n": n}, ngettext("%(n)d board", "%(n)d boards", n), pgettext("month", "may")
"""


@pytest.fixture(scope="module")
def texts() -> Catalog:
    return collect()


@pytest.mark.parametrize("language", catalogues.languages())
def test_a_catalogue_is_complete_and_sound(texts: Catalog, language: str) -> None:
    assert faults(catalogues.read(language), texts) == [], "manage.py words brings it up to date"


PAGES = [
    *("/", "/me/", "/setup/", "/yard/", "/kilns/", "/needs/", "/tools/", "/tools/mass/", "/stacks/new/", "/find/"),
    *("/people/", "/backups/", "/papers/", "/learned/", "/sawing/", "/stock/", "/reminders/", "/offline", "/nothing/"),
]


@pytest.mark.django_db
def test_an_empty_yard_s_pages_say_nothing_outside_of_gettext(texts: Catalog, tmp_path: Path, settings) -> None:
    """One small round; `manage.py bench words` walks every screen of the demo mill."""
    owner = UserFactory(username="Ada", is_staff=True)
    client = Client()
    client.force_login(owner)
    write_into(tmp_path, texts)
    settings.LOCALE_PATHS = [tmp_path]
    named = {"Drystack", "Ada", "English", "Deutsch", "Svenska"}
    answers = {path: client.get(path).content.decode() for path in PAGES}
    assert OPEN in answers["/yard/"], "the brackets are there"
    bare = {path: bare_words(html, named) for path, html in answers.items()}
    assert {path: words for path, words in bare.items() if words} == {}


def test_what_stands_outside_is_found() -> None:
    html = '<p>⟦Read <b>⟦27 mm⟧</b> at⟧ 5 kg 2H5 TE6 Q36B {wood}</p><img alt="Left out"><a title="⟦in⟧">Bare</a>'
    assert bare_words(html) == {"Left out", "Bare"}
    assert bare_words(html, {"Bare"}) == {"Left out"}


def found_in(folder: Path, name: str, source: str) -> list:
    (folder / name).write_text(source)
    return list(texts_of(folder / name))


def test_texts_are_found_in_templates(tmp_path: Path) -> None:
    plural = ("%(n)s tag's blank", "%(n)s tags are blank")
    assert found_in(tmp_path, "page.html", TEMPLATE) == [("Sign in", None), (plural, None), ("Today", None)]
    assert "quoted" not in as_python(TEMPLATE)


def test_texts_are_found_in_python_lazy_ones_too(tmp_path: Path) -> None:
    plural = ("%(n)d board", "%(n)d boards")
    wanted = [("kept whole", None), ("%(n)d\u202fmm", None), (plural, None), ("may", "month")]
    assert found_in(tmp_path, "words.py", PYTHON) == wanted


def of(**entries: str) -> Catalog:
    made = Catalog(locale="de", fuzzy=False)
    for text, translated in entries.items():
        made.add(text, translated)
    return made


def test_what_is_wrong_is_told() -> None:
    texts = of(**{"Stack": "", "%(n)s of %(of)s": "", "<b>Kiln</b>": "", "Board": ""})
    spoiled = of(**{"Stack": "", "%(n)s of %(of)s": "%(n)s von %(off)s", "<b>Kiln</b>": "Ofen", "Old": "Alt"})
    assert sorted(faults(spoiled, texts)) == [
        "in no source: Old",
        "missing: Board",
        "other marks: <b>Kiln</b>",
        "other placeholders: %(n)s of %(of)s",
        "untranslated: Stack",
    ]
    assert faults(of(**{"Stack": "Stapel"}), of(**{"Stack": ""})) == []


def test_a_singular_may_leave_its_figure_out_and_add_none() -> None:
    texts, good, bad = (Catalog(locale="de", fuzzy=False) for _ in range(3))
    for made, one in ((texts, ""), (good, "ein Stapel"), (bad, "%(of)s Stapel")):
        made.add(("one stack", "%(n)s stacks"), (one, "%(n)s Stapel" if one else ""))
    assert faults(good, texts) == []
    assert faults(bad, texts) == ["other placeholders: one stack"]


def test_merging_keeps_what_there_is_adds_what_is_new_and_drops_what_is_gone(tmp_path: Path, settings) -> None:
    settings.LOCALE_PATHS = [tmp_path]
    catalogues.write("de", of(**{"Stack": "Stapel", "Old": "Alt"}))
    catalogues.write("de", catalogues.merged("de", of(**{"Stack": "", "Stacks": ""})))
    once = catalogues.path_of("de").read_text()
    assert {entry.id: entry.string for entry in catalogues.read("de") if entry.id} == {"Stack": "Stapel", "Stacks": ""}
    catalogues.write("de", catalogues.merged("de", of(**{"Stack": "", "Stacks": ""})))
    assert catalogues.path_of("de").read_text() == once, "no date and no line number changes by itself"


def test_what_is_compiled_is_compiled_anew_when_its_source_changed(tmp_path: Path, settings) -> None:
    settings.LOCALE_PATHS = [tmp_path]
    catalogues.write("sv", of(**{"Stack": "Virkesstapel"}))
    assert catalogues.compile_stale() == ["sv"]
    assert catalogues.compile_stale() == []
    compiled = catalogues.path_of("sv").with_suffix(".mo")
    os.utime(compiled, (1, 1))
    assert catalogues.compile_stale() == ["sv"]
    assert sorted(path.name for path in compiled.parent.iterdir()) == ["django.mo", "django.po"], (
        "no half of one is left"
    )
    with compiled.open("rb") as file:
        assert GNUTranslations(file).gettext("Stack") == "Virkesstapel"
