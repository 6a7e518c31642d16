"""Words about drying groups and their rules."""

from collections.abc import Iterable
from typing import Any

from django import template
from django.utils.formats import number_format

from yard.measures.system import imperial
from yard.measures.told import mm, thick

register = template.Library()


@register.filter
def percent(part: float) -> str:
    """0.75 as "75 %"."""
    return f"{number_format(round(100 * part))}\u202f%"


@register.filter
def thin_beside_40(part: float) -> str:
    """The thinnest board that goes with one of 40 mm."""
    return mm(round(40 * part, 1))


@register.filter
def sizes_mm(sizes: Iterable[float]) -> str:
    """Thicknesses as "27, 32 mm"."""
    return ", ".join(map(thick, sizes)) if imperial() else ", ".join(f"{size:g}" for size in sizes) + "\u202fmm"


@register.filter
def own_codes(species: Any) -> str:
    """The published schedules of a species: of 25 to 38 mm, and of 50 mm where it is another."""
    return " / ".join(dict.fromkeys(code for code in (species.schedule_25mm, species.schedule_50mm) if code))
