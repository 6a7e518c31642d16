"""What was changed, in words, and what a message offers to undo."""

from datetime import date
from typing import Any

from django import template

from yard.changes import kind_of
from yard.changes.middleware import AGAIN, TAG
from yard.changes.tables import MONEY_COLUMNS
from yard.changes.words import Line, corrected
from yard.measures.told import sides
from yard.models import keptwords
from yard.templatetags import amounts

register = template.Library()


@register.filter
def undoes(message: Any) -> str:
    """The key of the change that a message offers to take back; empty for none."""
    tags = message.extra_tags or ""
    return tags.removeprefix(TAG) if tags.startswith(TAG) else ""


@register.filter
def redoes(message: Any) -> str:
    """The key of what took a change back, which a message offers to do again; empty for none."""
    tags = message.extra_tags or ""
    return tags.removeprefix(AGAIN) if tags.startswith(AGAIN) else ""


@register.filter
def change_words(kind: str) -> str:
    return str(kind_of(kind).words)


@register.filter
def is_money(column: str) -> bool:
    return column in MONEY_COLUMNS


@register.filter
def corrections(changes: Any) -> list[tuple[str, Line]]:
    """By column, each particular that an event put right."""
    return corrected(changes or {})


@register.filter
def iso_day(text: str) -> str:
    return amounts.day(date.fromisoformat(text))


register.filter("as_reason", keptwords.reason)
register.filter("as_set_aside", keptwords.set_aside)
register.filter("as_paper", keptwords.paper)


@register.filter
def tally_words(lines: Any) -> str:
    """A tally as its history keeps it: [length, width, count] in mm."""
    return ", ".join(f"{count} × {sides(length, width)}" for length, width, count in lines) or "–"
