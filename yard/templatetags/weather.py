"""A weather sheet's faults in words: which lines, why, and what would do."""

from collections.abc import Callable, Sequence
from typing import Any

from django import template
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from yard.templatetags.amounts import day, day_band, number
from yard.templatetags.weather_drawing import weather_drawing

register = template.Library()
register.inclusion_tag("yard/_weather_drawing.html", name="weather_drawing")(weather_drawing)
NAMES = {
    "date": gettext_lazy("date"),
    "time": gettext_lazy("time"),
    "temperature": gettext_lazy("temperature"),
    "humidity": gettext_lazy("humidity"),
    "rain": gettext_lazy("rain"),
}


@register.filter
def gap_words(gap: tuple[Any, Any]) -> str:
    """A gap: "3 May 2026", or "7 to 9 May 2026"."""
    first, last = gap
    return day(first) if first == last else day_band(first, last)


@register.filter
def fault_lines(group: Sequence[Any]) -> str:
    """Where: "Line 3", "Lines 26 to 34", "Lines 3, 7, 9 and 20 more"; "" for the sheet as a whole."""
    lines = [fault.line for fault in group]
    if lines == [0]:
        return ""
    if len(lines) == 1:
        return _("Line %(line)s") % {"line": lines[0]}
    if lines[-1] - lines[0] == len(lines) - 1:
        return _("Lines %(first)s to %(last)s") % {"first": lines[0], "last": lines[-1]}
    shown = ", ".join(str(line) for line in lines[:8])
    more = len(lines) - 8
    if more <= 0:
        return _("Lines %(lines)s") % {"lines": shown}
    return ngettext("Lines %(lines)s and %(more)s more", "Lines %(lines)s and %(more)s more", more) % {
        "lines": shown,
        "more": more,
    }


@register.filter
def fault_words(fault: Any) -> str:
    """Why, and what would do."""
    words = _WORDS[fault.code](fault.figures)
    return f"{words} {_('Its temperature and humidity were taken.')}" if fault.taken else words


def _names(kinds: Sequence[str]) -> str:
    return ", ".join(str(NAMES[kind]) for kind in kinds)


def _missing(figures: Any) -> str:
    return _("The first line must name the columns. Missing: %(missing)s. It says: %(found)s.") % {
        "missing": _names(figures["names"]),
        "found": ", ".join(figures["found"][:8]),
    }


def _range(figures: Any) -> str:
    return _("%(kind)s %(value)s %(unit)s is outside %(low)s to %(high)s %(unit)s.") % {
        "kind": capfirst(str(NAMES[figures["kind"]])),
        "value": f"{figures['value']:g}",
        "low": f"{figures['low']:g}",
        "high": f"{figures['high']:g}",
        "unit": figures["unit"],
    }


def _doubled(figures: Any) -> str:
    moment = day(figures["day"]) + (f", {figures['clock']:%H:%M}" if figures["clock"] else "")
    return _("%(moment)s was given in line %(of)s already; that one counts.") % {"moment": moment, "of": figures["of"]}


def _part_day(figures: Any) -> str:
    return _(
        "%(day)s has %(count)s rows from %(first)s to %(last)s: part of a day makes a misleading mean. "
        "Send the day again when it is whole."
    ) % {
        "day": day(figures["day"]),
        "count": figures["count"],
        "first": f"{figures['first']:%H:%M}",
        "last": f"{figures['last']:%H:%M}",
    }


def _cells(figures: Any) -> str:
    words = _("%(found)s cells where the first line names %(wanted)s.") % figures
    if figures["found"] > figures["wanted"]:
        return f"{words} {_('With decimal commas separate the columns by semicolons.')}"
    return words


_WORDS: dict[str, Callable[[Any], str]] = {
    "empty": lambda figures: _("There is no row in it."),
    "columns_missing": _missing,
    "column_twice": lambda figures: (
        _("Two columns could be the %(names)s; rename one.") % {"names": _names(figures["names"])}
    ),
    "cells": _cells,
    "no_date": lambda figures: _("The date is missing."),
    "bad_date": lambda figures: _("“%(text)s” is no date; write 2026-05-03 or 3.5.2026.") % figures,
    "date_order": lambda figures: (
        _("“%(text)s” could be two dates; write 2026-05-03 or 3.5.2026 (day.month.year).") % figures
    ),
    "too_old": lambda figures: _("“%(text)s” is before %(year)s; is the year right?") % figures,
    "bad_time": lambda figures: _("“%(text)s” is no time of day; write hours and minutes like 14:30.") % figures,
    "future": lambda figures: _("%(day)s has not been yet.") % {"day": day(figures["day"])},
    "no_value": lambda figures: _("The %(kind)s is missing.") % {"kind": NAMES[figures["kind"]]},
    "bad_number": lambda figures: (
        _("The %(kind)s “%(text)s” is no number.") % {"kind": NAMES[figures["kind"]], "text": figures["text"]}
    ),
    "out_of_range": _range,
    "humidity_as_share": lambda figures: (
        _("Humidity %(value)s: write per cent, like %(pct)s.")
        % {"value": f"{figures['value']:g}", "pct": number(100 * figures["value"], 0)}
    ),
    "doubled": _doubled,
    "part_day": _part_day,
}
