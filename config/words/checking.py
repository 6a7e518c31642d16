"""What is wrong with a catalogue, in words: checked by the tests, so that nobody reads half a page in English."""

import re
from collections.abc import Iterator

from babel.messages.catalog import Catalog, Message

PLACEHOLDER = re.compile(r"%\((\w+)\)|\{(\w*)\}|%([sd])")
TAG = re.compile(r"</?[a-z][^>]*>")


def faults(catalogue: Catalog, texts: Catalog) -> list[str]:
    """Texts without translation, doubtful or spoiled ones, and entries that no source has any more."""
    found = [f"missing: {_short(text)}" for text in texts if text.id and catalogue.get(text.id, text.context) is None]
    for entry in catalogue:
        if entry.id:
            found += [f"{what}: {_short(entry)}" for what in _faults_of(entry, texts)]
    return found + [f"obsolete: {_short(entry)}" for entry in catalogue.obsolete.values()]


def _faults_of(entry: Message, texts: Catalog) -> Iterator[str]:
    if texts.get(entry.id, entry.context) is None:
        yield "in no source"
    if entry.fuzzy:
        yield "fuzzy"
    ids, strings = _forms(entry.id), _forms(entry.string or "")
    if not all(strings):
        yield "untranslated"
        return
    for text in strings:
        yield from _unlike(text, ids, last=text is strings[-1])


def _unlike(text: str, ids: tuple[str, ...], last: bool) -> Iterator[str]:
    """A singular may say "one" where the plural has a figure; else all that is filled in must be there, and no more."""
    least, most = _filled(ids[-1] if last else ids[0]), _filled(ids[-1])
    if not least <= _filled(text) <= most:
        yield "other placeholders"
    if sorted(TAG.findall(text)) != sorted(TAG.findall(ids[-1] if last else ids[0])):
        yield "other marks"
    if text != text.strip() and ids[0] == ids[0].strip():
        yield "blanks at an end"


def _filled(text: str) -> set[str]:
    return {"".join(match.groups("")) for match in PLACEHOLDER.finditer(text.replace("%%", ""))}


def _forms(text: str | list[str] | tuple[str, ...]) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


def _short(entry: Message) -> str:
    return _forms(entry.id)[0][:70]
