"""Template tags and filters: the moisture strip, the drying curve, patterns for drawings, figures with units."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import template
from django.utils.translation import gettext as _

from yard.measures import quantities, told
from yard.measures.instead import in_reader_units
from yard.models import tagcode
from yard.templatetags import amounts, strip_drawing
from yard.templatetags import curve_drawing as drawing
from yard.templatetags.curve_table import table

register = template.Library()

register.filter("pct", amounts.pct)
register.filter("pct_band", amounts.pct_band)
register.filter("days", amounts.days)
register.filter("day", amounts.day)


for measured in (
    told.m3,
    told.round_m3,
    told.mm,
    told.mm_to,
    told.thick,
    told.metres,
    told.kg,
    told.celsius,
    told.kelvin,
):
    register.filter(measured.__name__, measured)


register.filter("in_reader_units", in_reader_units)


@register.filter
def kwh(value: float | None, decimals: int = 0) -> str:
    """Kilowatt hours: "410 kWh", in both systems."""
    return amounts.with_unit(value, int(decimals), "kWh")


@register.filter
def altitude(value: float | None) -> str:
    """Above the sea: "420 m", "1,378 ft"."""
    return told.told(value, 0, quantities.ALTITUDE)


@register.filter
def density(value: float | None) -> str:
    """Mass a volume: "570 kg/m³", "35.6 lb/ft³"."""
    return told.told(value, 0, quantities.DENSITY, 1)


@register.filter
def in_units(name: str) -> str:
    """A metric unit's name, or what its reader has in its place: {{ "mm"|in_units }}."""
    return told.unit_of(name)


@register.filter
def volume(value: float | None, decimals: int = 1) -> str:
    """Sawn wood without its unit, for a table whose head tells it."""
    return told.figure(value, int(decimals), quantities.VOLUME)


@register.filter
def per_volume(value: float | None) -> str:
    """What is told a m³, as money or kWh, a m³ or a board foot, without its unit."""
    return told.figure(value, 0, quantities.PRICE, 2)


@register.simple_tag
def sides(*sizes_mm: float | None) -> str:
    """{% sides thickness width length %}: "27 × 160 × 2400 mm"; "1 1/16 × 6 5/16 × 94 1/2 in"."""
    return told.sides(*sizes_mm)


@register.filter
def board_feet(value: float | None, decimals: int = 0) -> str:
    """Board feet already converted: "729 board feet"."""
    return amounts.with_unit(value, int(decimals), _("board feet"))


@register.filter
def share(value: float | None, decimals: int = 0) -> str:
    """A share of 1 in per cent: 0.89 as "89 %"."""
    return amounts.with_unit(None if value is None else value * 100, int(decimals), "%")


@register.filter
def day_band(low: date | None, high: date | None) -> str:
    """Two days: "14 to 27 June 2026"."""
    return amounts.day_band(low, high)


@register.filter
def code(value: str | None) -> str:
    """A tag's code in the groups that people read out, parted by narrow no-break spaces."""
    return tagcode.shown(str(value)) if value else amounts.NOTHING


@register.inclusion_tag("components/strip.html")
def strip(
    now: float | None,
    low: float | None = None,
    high: float | None = None,
    target: float | None = None,
    place: float | None = None,
    labels: bool = True,
) -> dict[str, object]:
    """{% strip now low high target place %}: all in %, each but the first may be missing; labels=False for a list."""
    return strip_drawing.draw(now, low, high, target, place, labels)


@register.inclusion_tag("components/hatches.html")
def hatches() -> dict[str, object]:
    """Eight patterns for drawings that must work in black and white: fill="url(#hatch-0)" to 7. Once a page."""
    return {}


@register.inclusion_tag("components/curve.html")
def curve(
    outlook: drawing.Outlook,
    readings: Iterable[Any] = (),
    target: float | None = None,
    today: date | None = None,
    place: float | None = None,
) -> dict[str, object]:
    """{% curve outlook readings=… target=… today=… place=… %}: drawing, table. Unsaid, today is the last reading's."""
    on = today or outlook.as_of
    points, dots = drawing.points_of(outlook), drawing.dots_of(readings)
    frame = drawing.frame_of(outlook, points, dots, on)
    return {
        "words": drawing.in_words(outlook, points, on, target),
        **lines(frame, outlook, points),
        **drawing.level_labels(frame, target, place),
        "dots": [{"x": f"{frame.x(d.day):.1f}", "y": f"{frame.y(d.moisture_pct):.1f}"} for d in dots],
        "grid": drawing.grid(frame),
        "months": drawing.month_labels(frame),
        "today": drawing.today_line(frame, on),
        "ready": drawing.ready_bar(frame, outlook, target),
        "rows": table(outlook, points, dots, frame, on),
    }


def lines(frame: drawing.Frame, outlook: drawing.Outlook, points: list[drawing.Point]) -> dict[str, str]:
    """Band, what was (solid) and what is forecast (dashed), as paths."""
    shown = drawing.thinned(points, frame.last)
    turn = outlook.as_of.toordinal()
    at_turn = drawing.moisture_on(points, min(max(turn, points[0].day), frame.last))
    past = [*(p for p in shown if p.day < turn), at_turn]
    ahead = [at_turn, *(p for p in shown if p.day > turn)]
    outline = [(p.day, p.high) for p in shown] + [(p.day, p.low) for p in reversed(shown)]
    return {
        "spread": drawing.path(frame, outline),
        "past": drawing.path(frame, [(p.day, p.middle) for p in past]),
        "ahead": drawing.path(frame, [(p.day, p.middle) for p in ahead]),
    }
