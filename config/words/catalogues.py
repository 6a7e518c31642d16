"""A language's catalogue: config/locale/LANGUAGE/LC_MESSAGES/django.po, and the compiled .mo beside it.

The .mo is made on the machine that serves, at start, where it is missing or older: so none is committed, two branches
never collide in one, and no gettext programs are needed.
"""

import os
import tempfile
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.conf import settings

SOURCE = "en"  # the texts in the sources are the English ones
WIDTH = 120


def languages() -> list[str]:
    """Those that have a catalogue."""
    return [code for code, _name in settings.LANGUAGES if code != SOURCE]


def path_of(language: str) -> Path:
    return Path(settings.LOCALE_PATHS[0]) / language / "LC_MESSAGES" / "django.po"


def read(language: str) -> Catalog:
    path = path_of(language)
    if not path.exists():
        return Catalog(locale=language, fuzzy=False)
    with path.open("rb") as file:
        return read_po(file, locale=language)


def merged(language: str, texts: Catalog) -> Catalog:
    """The catalogue with all texts and no others; new ones are empty. None is guessed from one that is alike."""
    known = read(language)
    made, revised = known.creation_date, known.revision_date  # a new date each time would be a change each time
    known.update(texts, no_fuzzy_matching=True)
    known.creation_date, known.revision_date = made, revised
    known.obsolete.clear()
    known.header_comment, known.project, known.version = "# Drystack", "Drystack", ""
    known.msgid_bugs_address, known.last_translator, known.language_team = "", "", language
    return known


def write(language: str, catalogue: Catalog) -> None:
    """Sorted and without line numbers, so that a change of one text is a change of its lines alone."""
    path = path_of(language)
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        write_po(file, catalogue, width=WIDTH, no_location=True, sort_output=True, include_previous=False)


def compile_stale() -> list[str]:
    """Make each .mo that is missing or older than its .po; which languages were made."""
    made = []
    for language in languages():
        source = path_of(language)
        target = source.with_suffix(".mo")
        if source.exists() and not (target.exists() and target.stat().st_mtime >= source.stat().st_mtime):
            _compile(language, target)
            made.append(language)
    return made


def _compile(language: str, target: Path) -> None:
    """In one step, so that no other process reads half of it. An empty translation is left out: English is shown."""
    handle, name = tempfile.mkstemp(dir=target.parent, suffix=".mo.part")
    with os.fdopen(handle, "wb") as file:
        write_mo(file, read(language))
    Path(name).chmod(0o644)
    Path(name).replace(target)
