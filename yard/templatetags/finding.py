"""What was looked for and what was found, in words."""

from math import ceil, floor

from django import template
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from yard.measures.told import metres, mm, sides, size_down
from yard.outlook import Find, Wish
from yard.templatetags.amounts import pct

register = template.Library()


@register.filter
def wished(wish: Wish) -> str:
    """ "ash, 2.40 m × 180 × 40 mm at 8 %"."""
    size = f"{metres(wish.length_mm)} × {sides(wish.width_mm, wish.thickness_mm)}"
    words = {"size": size, "moisture": pct(wish.moisture_pct, 0)}
    if wish.species:
        return _("%(wood)s, %(size)s at %(moisture)s") % {"wood": capfirst(wish.species.name), **words}
    return _("%(size)s at %(moisture)s") % words


@register.filter
def yields(find: Find) -> str:
    """ "yields 2.50 m × 186 × 41.5 mm", rounded down."""
    length, width, thickness = find.yield_mm
    size = f"{metres(floor(length / 10) * 10)} × {sides(size_down(width), size_down(thickness, tenths=True))}"
    return _("yields %(size)s") % {"size": size}


@register.filter
def lacks(find: Find) -> str:
    """ "12 mm too narrow", of each way in which it is too small, rounded up."""
    length, width, thickness = find.short_mm
    said = (
        (length, _("%(size)s too short")),
        (width, _("%(size)s too narrow")),
        (thickness, _("%(size)s too thin")),
    )
    return ", ".join(
        words % {"size": mm(ceil(lack * 10) / 10 if lack < 10 else ceil(lack))} for lack, words in said if lack
    )
