"""What other apps say of their own forms that are to be sorted out: the yard knows no charges."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from django.urls import Resolver404, resolve


@dataclass(frozen=True, slots=True)
class Standing:
    """What such a form is about as it stands now: its page, its name, and what is to be known of it."""

    url: str
    name: str
    lines: list[str] = field(default_factory=list)


Teller = Callable[[Mapping[str, Any]], Standing | None]
_titles: dict[str, Any] = {}
_tellers: dict[str, Teller] = {}
_labels: dict[str, tuple[Any, Callable[[str], str]]] = {}


def tell_of_forms(titles: Mapping[str, Any], teller: Teller) -> None:
    """`titles`: what each form records, in words, by url name; `teller` says of an address's parts how it stands."""
    _titles.update(titles)
    _tellers.update(dict.fromkeys(titles, teller))


def name_field(name: str, label: Any, shown: Callable[[str], str]) -> None:
    """What a hidden field says, in words, and how its value is read: nobody typed it, so the phone tells none of it."""
    _labels[name] = (label, shown)


def in_words(fields: Sequence[Sequence[str]]) -> list[list[str]]:
    """Fields as they were sent, with what was told of them."""
    told = [(_labels.get(name, (name, str)), value) for name, value in fields]
    return [[str(label), shown(value)] for (label, shown), value in told]


def title_of(url_name: str) -> str:
    """Empty for a form that no other app told of."""
    return str(_titles.get(url_name, ""))


def standing_of(path: str) -> Standing | None:
    """None for a form of the yard's own."""
    try:
        match = resolve(urlsplit(path).path)
    except Resolver404:
        return None
    teller = _tellers.get(match.url_name or "")
    return teller(match.kwargs) if teller else None
