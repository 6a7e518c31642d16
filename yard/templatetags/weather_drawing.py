"""The log month by month as lines and points: what the air held wood at, beside the usual; all to scale."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from yard.templatetags.amounts import pct

LEFT, RIGHT, TOP, BOTTOM = 34.0, 352.0, 26.0, 178.0
SHOWN_MONTHS = 13  # a year and its month before, to compare
STEP_PCT = 5.0


def weather_drawing(months: Sequence[Any]) -> dict[str, Any]:
    """Context of the drawing for the last months of a log (`outlook.MonthWeather`)."""
    shown = _run(months)
    values = [v for one in shown if one for v in (one.emc_pct, one.usual_emc_pct) if v is not None]
    low = STEP_PCT * (min(values) // STEP_PCT)
    high = max(STEP_PCT * (max(values) // STEP_PCT + 1), low + 2 * STEP_PCT)

    def y(value: float) -> str:
        return f"{BOTTOM - (value - low) / (high - low) * (BOTTOM - TOP):.1f}"

    width = (RIGHT - LEFT) / len(shown)
    places = [(one, LEFT + (i + 0.5) * width) for i, one in enumerate(shown)]
    levels = [low + STEP_PCT * i for i in range(round((high - low) / STEP_PCT) + 1)]
    there = [(one, x) for one, x in places if one]
    return {
        "words": _words([one for one, _x in there]),
        "grid": [{"y": y(level), "text": pct(level, 0)} for level in levels],
        "months": [_label(one, x, i) for i, (one, x) in enumerate(places) if one],
        "line": [{"x": f"{x:.1f}", "y": y(one.emc_pct)} for one, x in there],
        "usual": [
            {"left": f"{x - 0.42 * width:.1f}", "right": f"{x + 0.42 * width:.1f}", "y": y(one.usual_emc_pct)}
            for one, x in there
            if one.usual_emc_pct is not None
        ],
    }


def _run(months: Sequence[Any]) -> list[Any]:
    """The last months in an unbroken run, None where one has no day."""
    by_number = {_number(one.first): one for one in months}
    last = max(by_number)
    first = max(min(by_number), last - SHOWN_MONTHS + 1)
    return [by_number.get(n) for n in range(first, last + 1)]


def _number(day: date) -> int:
    return 12 * day.year + day.month


def _label(one: Any, x: float, at: int) -> dict[str, str]:
    """Every third month by its name, the others by a line."""
    return {"x": f"{x:.1f}", "text": date_format(one.first, "M") if at % 3 == 0 else ""}


def _words(months: Sequence[Any]) -> str:
    """What the drawing says, for whoever can't see it."""
    driest, dampest = min(months, key=lambda one: one.emc_pct), max(months, key=lambda one: one.emc_pct)
    return _("The air held wood at %(low)s in %(driest)s to %(high)s in %(dampest)s.") % {
        "low": pct(driest.emc_pct),
        "driest": date_format(driest.first, "F Y"),
        "high": pct(dampest.emc_pct),
        "dampest": date_format(dampest.first, "F Y"),
    }
