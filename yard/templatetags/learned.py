"""What was learned, in words: how fast against the book, with its band."""

from django import template
from django.utils.translation import gettext as _

from yard.measures.told import NARROW_SPACE, number
from yard.outlook import Shift

register = template.Library()


def _percent(factor: float) -> int:
    return round(100 * (factor - 1))


def _shown(percent: int) -> str:
    return f"{number(abs(percent), 0)}{NARROW_SPACE}%"


@register.filter
def pace(shift: Shift | float) -> str:
    """ "20 % faster than the book", of a factor on the rate."""
    percent = _percent(shift if isinstance(shift, float) else shift.factor)
    if percent == 0:
        return _("as fast as the book")
    return (_("%(much)s faster than the book") if percent > 0 else _("%(much)s slower than the book")) % {
        "much": _shown(percent)
    }


@register.filter
def pace_short(shift: Shift) -> str:
    """ "20 % faster", for where the book need not be named."""
    percent = _percent(shift.factor)
    if percent == 0:
        return _("as the book")
    return (_("%(much)s faster") if percent > 0 else _("%(much)s slower")) % {"much": _shown(percent)}


@register.filter
def pace_band(shift: Shift) -> str:
    """ "between 8 and 33 %", on the side that `pace` names; "between 5 % slower and 12 % faster" across the book."""
    low, high = (_percent(factor) for factor in shift.band)
    if low < 0 < high or _percent(shift.factor) == 0:
        sides = {"low": _shown(min(low, 0)), "high": _shown(max(high, 0))}
        return _("between %(low)s slower and %(high)s faster") % sides
    near, far = sorted((abs(low), abs(high)))
    return _("between %(near)s and %(far)s") % {"near": number(near, 0), "far": _shown(far)}
