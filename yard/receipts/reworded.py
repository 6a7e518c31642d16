"""What a phone's form called its fields, and what its reader chose, in the words of whoever sorts it out.

They were kept as the sender read them. What is one of the app's texts is found in the catalogues by its wording there.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from babel.messages.mofile import read_mo
from django.conf import settings
from django.utils.text import capfirst
from django.utils.translation import gettext


def reworded(pairs: Sequence[Sequence[str]]) -> list[tuple[str, str]]:
    return [(label(name), in_our_words(value)) for name, value in pairs]


def label(text: str) -> str:
    """A field's name, which its unit may follow: "Thickness, mm"."""
    told = in_our_words(text)
    name, comma, unit = text.rpartition(", ")
    return in_our_words(name) + comma + unit if told == text and name else told


def in_our_words(text: str) -> str:
    """One of the app's texts in the reader's language; any other as it stands."""
    told = gettext(_sources().get(text, text)) if text.strip() else text
    return capfirst(told) if text[:1].isupper() else told


@cache
def _sources() -> dict[str, str]:
    """The texts of the sources by their wording in each language; whole sentences alone, without what is filled in."""
    found: dict[str, str] = {}
    for path in (file for folder in settings.LOCALE_PATHS for file in sorted(Path(folder).glob("*/LC_MESSAGES/*.mo"))):
        with path.open("rb") as compiled:
            for one in read_mo(compiled):
                if isinstance(one.id, str) and isinstance(one.string, str) and one.id and not one.context:
                    found.setdefault(one.string, one.id)
    return found
