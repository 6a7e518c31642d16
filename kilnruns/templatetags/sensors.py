"""What sensors measured: figures with their unit, and a day as a line."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from django import template
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from kilnruns.models import Quantity
from kilnruns.sensing.series import Point
from yard.measures import told

register = template.Library()
WIDTH, HEIGHT, TOP, BOTTOM = 320.0, 64.0, 6.0, 58.0
UNITS = {
    Quantity.DRY_BULB: ("°C", 1),
    Quantity.WET_BULB: ("°C", 1),
    Quantity.HUMIDITY: ("%", 0),
    Quantity.WOOD_RESISTANCE: ("MΩ", 2),
    Quantity.WOOD_TEMPERATURE: ("°C", 1),
    Quantity.WOOD_MOISTURE: ("%", 1),
    Quantity.POWER: ("kW", 2),
    Quantity.ENERGY: ("kWh", 1),
}


@register.filter
def measured(value: float | None, quantity: str) -> str:
    """A value of a quantity with its unit: "51.3 °C"."""
    if value is None:
        return "–"
    unit, decimals = UNITS[Quantity(quantity)]
    return told.celsius(value, decimals) if unit == "°C" else told.with_unit(value, decimals, unit)


@register.filter
def unit_of(quantity: str) -> str:
    return told.unit_of(UNITS[Quantity(quantity)][0])


@register.filter
def sent_in(quantity: str) -> str:
    """The unit in which devices send it, whoever reads."""
    return UNITS[Quantity(quantity)][0]


@register.filter
def quantity_words(quantity: str) -> str:
    name, comma, unit = str(Quantity(quantity).label).partition(", ")
    return f"{name}{comma}{told.unit_of(unit)}"


@register.filter
def clock(second: int) -> str:
    return date_format(timezone.localtime(datetime.fromtimestamp(second, tz=UTC)), "j M H:i")


@register.inclusion_tag("kilnruns/_sensor_line.html")
def sensor_line(series: Any, points: Sequence[Point], begin: int, end: int) -> dict[str, Any]:
    """The span as a line of means over the band between extremes; its own scale, told by two figures."""
    if not points:
        return {"points": []}
    low, high = min(one.low for one in points), max(one.high for one in points)
    room = high - low or 1.0

    def place(second: int, value: float) -> str:
        x = WIDTH * (second - begin) / max(end - begin, 1)
        return f"{x:.1f} {BOTTOM - (BOTTOM - TOP) * (value - low) / room:.1f}"

    above = [place(one.second, one.high) for one in points]
    below = [place(one.second, one.low) for one in reversed(points)]
    words = _("From %(low)s to %(high)s, %(begin)s to %(end)s.") % {
        "low": measured(low, series.quantity),
        "high": measured(high, series.quantity),
        "begin": clock(points[0].second),
        "end": clock(points[-1].second),
    }
    line = [place(one.second, one.mean) for one in points]
    band = "L".join(above + below)
    return {"points": points, "line": "L".join(line), "band": band, "words": words, "one": len(points) == 1}
