"""In which language and units somebody is told things: chosen by themselves, kept in their row."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings
from django.utils import translation

from yard.measures import system
from yard.models import Person, UnitSystem


def person_of(user: Any) -> Person | None:
    """The row of who is signed in, read once a request."""
    return getattr(user, "person", None)


def language_of(user: Any) -> str:
    """The language that somebody chose; empty where they leave it to their browser, or nobody is signed in."""
    person = person_of(user)
    return person.language if person and person.language in dict(settings.LANGUAGES) else ""


@contextmanager
def told_in(user: Any) -> Iterator[None]:
    """What is made while no page is asked for (reminders, tasks) is in the reader's language, else in the mill's, and
    in the reader's units."""
    with translation.override(language_of(user) or settings.LANGUAGE_CODE), system.told_in(system.units_of(user)):
        yield


def settle(*, by: Any) -> None:
    """Who asks to be told things where no browser asks for them is told them in the language that they read now."""
    if not language_of(by):
        choose(language=translation.get_language() or settings.LANGUAGE_CODE, by=by)


def choose(*, language: str, by: Any, units: str = "") -> Person:
    """From the next page on. `units` empty leaves them as they are."""
    values = {"language": language} | ({"units": UnitSystem(units).value} if units else {})
    person, _made = Person.objects.update_or_create(user=by, defaults=values)
    by.person = person
    return person
