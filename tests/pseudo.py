"""A language of the sources' own texts in brackets: what a page shows outside of them never went through gettext."""

from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import django
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from config.words.collecting import collect

OPEN, CLOSE = "⟦", "⟧"
DJANGOS_OWN = ("conf", "contrib/auth")
SPOKEN = (
    "alt",
    "aria-label",
    "aria-description",
    "placeholder",
    "title",
    "data-label",
    "data-outbox-title",
    "data-said",
)
SILENT = frozenset({"script", "style", "code"})


def bracketed() -> Catalog:
    """All texts of ours and of Django, each in brackets."""
    made = Catalog(locale="en", fuzzy=False)
    for text in (*_djangos(), *collect()):
        if text.id:
            made.add(text.id, _in_brackets(text.id), context=text.context)
    return made


def write_into(folder: Path) -> None:
    """As the English of LOCALE_PATHS = [folder]."""
    path = folder / "en" / "LC_MESSAGES" / "django.mo"
    path.parent.mkdir(parents=True)
    with path.open("wb") as file:
        write_mo(file, bracketed())


def _djangos() -> Iterator[Any]:
    for part in DJANGOS_OWN:
        path = Path(django.__path__[0]) / part / "locale" / "en" / "LC_MESSAGES" / "django.po"
        with path.open("rb") as file:
            yield from read_po(file)


def _in_brackets(text: Any) -> Any:
    return f"{OPEN}{text}{CLOSE}" if isinstance(text, str) else tuple(f"{OPEN}{form}{CLOSE}" for form in text)


class Outside(HTMLParser):
    """Collects what stands outside of brackets: text, and what is spoken of an element."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._depth = 0
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in SILENT
        for name, value in attrs:
            if name in SPOKEN and value:
                self.found += outside(value)

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in SILENT

    def handle_data(self, data: str) -> None:
        if self._silent:
            return
        kept = ""
        for sign in data:
            self._depth += (sign == OPEN) - (sign == CLOSE)
            if not self._depth and sign != CLOSE:
                kept += sign
            elif kept:
                self.found.append(kept)
                kept = ""
        self.found.append(kept)


def outside(text: str) -> list[str]:
    """Parts of one text that stand outside of brackets."""
    found, depth = [""], 0
    for sign in text:
        depth += (sign == OPEN) - (sign == CLOSE)
        if not depth and sign != CLOSE:
            found[-1] += sign
        elif found[-1]:
            found.append("")
    return found


def outside_of_page(html: str) -> list[str]:
    reader = Outside()
    reader.feed(html)
    return [" ".join(text.split()) for text in reader.found if text.strip()]
