"""The stock over months as bars, and its words."""

from collections.abc import Sequence
from typing import Any

from django import template
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from yard.measures.quantities import VOLUME
from yard.models import LeftAs
from yard.outlook import Age, Left, MonthEnd
from yard.templatetags import amounts

register = template.Library()

LEFT, RIGHT, TOP, BOTTOM = 34.0, 352.0, 10.0, 170.0
DIGIT, BESIDE = 7.0, 4.0
"""Of a figure at the axis: how wide each sign is at most, and how far from the drawing it ends."""
STEPS = tuple(digit * 10**power for power in range(7) for digit in (1, 2, 5))
STATES = {
    "drying": gettext_lazy("drying"),
    "ready": gettext_lazy("ready for the kiln"),
    "kiln": gettext_lazy("in the kiln"),
    "dry": gettext_lazy("kiln-dried"),
}


@register.inclusion_tag("yard/_stock_bars.html")
def stock_bars(months: Sequence[MonthEnd]) -> dict[str, Any]:
    """A bar a month, from below: kiln-dried (black), in the kiln (hatched), on the way (white)."""
    a_unit_m3 = VOLUME.unit().si(1)  # the axis has round figures of the reader's unit
    highest = max([one.volume_m3 for one in months] + [0.1]) / a_unit_m3
    step = next((size for size in STEPS if highest <= 4 * size), STEPS[-1])
    top = step * max(1, -(-highest // step))
    levels = [level * step for level in range(1, int(top / step) + 1)]
    left = max(LEFT, DIGIT * max(len(amounts.number(level)) for level in levels))
    pace = (RIGHT - left) / max(len(months), 1)
    return {
        "bars": [_bar(one, left + pace * n, pace, top * a_unit_m3) for n, one in enumerate(months)],
        "grid": [{"y": f"{_y(level, top):.1f}", "text": amounts.number(level)} for level in levels],
        "left": f"{left:g}",
        "labels_end": f"{left - BESIDE:g}",
        "months": months,
        "is_empty": not any(one.volume_m3 > 1e-9 for one in months),
    }


def _y(volume: float, top: float) -> float:
    return BOTTOM - (BOTTOM - TOP) * min(volume / top, 1.0)


def _bar(one: MonthEnd, x: float, pace: float, top: float) -> dict[str, Any]:
    parts, below = [], 0.0
    for name, volume in (("dry", one.dry_m3), ("kiln", one.kiln_m3), ("drying", one.drying_m3)):
        upper, lower = _y(below + volume, top), _y(below, top)
        if lower - upper > 0.05:
            parts.append({"name": name, "y": f"{upper:.1f}", "height": f"{lower - upper:.1f}"})
        below += volume
    return {
        "x": f"{x + pace * 0.14:.1f}",
        "width": f"{pace * 0.72:.1f}",
        "middle": f"{x + pace / 2:.1f}",
        "month": date_format(one.day, "M")[:1],
        "parts": parts,
    }


@register.filter
def state_words(name: str) -> str:
    return str(STATES[name])


@register.filter
def m3_of(volumes: dict[str, float], name: str) -> float:
    """table|m3_of:state, in m³."""
    return volumes[name]


@register.filter
def age_words(one: Age) -> str:
    """ "under 3 months", "1 to 2 years", "over 2 years"."""
    if one.to_months is None:
        return _("over %(n)s years") % {"n": one.from_months // 12}
    if not one.from_months:
        return _("under %(n)s months") % {"n": one.to_months}
    if one.from_months >= 12:
        return _("%(low)s to %(high)s years") % {"low": one.from_months // 12, "high": one.to_months // 12}
    return _("%(low)s to %(high)s months") % {"low": one.from_months, "high": one.to_months}


@register.filter
def left_words(one: Left) -> str:
    return str(LeftAs(one.as_what).label) if one.as_what else _("not said")


@register.filter
def money(value: float | None, currency: str = "") -> str:
    """Whole units of the currency, named where it is given; a dash where nothing is known."""
    if currency:
        return amounts.with_unit(value, 0, currency)
    return amounts.NOTHING if value is None else amounts.number(value, 0)
