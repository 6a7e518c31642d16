"""What a need wants and what serves it, in words."""

from collections import Counter
from datetime import date

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from yard import outlook
from yard.measures.quantities import of_unit
from yard.measures.system import imperial
from yard.measures.told import celsius, m3, mm, sides, told
from yard.models import Need, NeedLine, Unit
from yard.outlook import BoardCut, LineCuts, Promise, Server
from yard.templatetags.amounts import day as day_words
from yard.templatetags.amounts import number

register = template.Library()

ROOM_OFF_PCT = 1.0


def counted(quantity: float, line: NeedLine, decimals: int | None = None) -> str:
    """A quantity in its line's unit: "12 m²", "129 ft²"."""
    if line.unit == Unit.CUBIC_METRES:
        return m3(quantity)
    measure = of_unit(line.get_unit_display()) if line.unit != Unit.PIECES else None
    if measure and imperial():
        return told(quantity, 0, measure, 0 if decimals is None else decimals)
    return (
        f"{quantity:g} {line.get_unit_display()}" if decimals is None else f"{quantity:.1f} {line.get_unit_display()}"
    )


@register.filter
def woods(line: NeedLine) -> str:
    """ "ash or oak"."""
    return _(" or ").join(one.name for one in line.species.all())


@register.filter
def line_words(line: NeedLine) -> str:
    """ "60 pieces of ash, 720 × 90 × 21 mm"."""
    known = [f"{one:g}" for one in (line.length_mm, line.width_mm) if one]
    metric = " × ".join([*known, mm(line.thickness_mm)])
    size = sides(line.length_mm, line.width_mm, line.thickness_mm) if imperial() else metric
    words = {"wood": woods(line), "size": size}
    if line.unit == Unit.PIECES:
        count = round(line.quantity)
        said = ngettext("%(count)d piece of %(wood)s, %(size)s", "%(count)d pieces of %(wood)s, %(size)s", count)
        return said % {"count": count, **words}
    amount = counted(line.quantity, line)
    return _("%(amount)s of %(wood)s, %(size)s") % {"amount": amount, **words}


@register.filter
def chance(value: float | None) -> str:
    """ "83 %", never 0 or 100: nothing is that sure."""
    return "" if value is None else f"{number(min(max(100 * value, 1), 99), 0)}\u202f%"


@register.filter
def chance_by(promise: Promise, by: date) -> str:
    return chance(promise.chance(by))


@register.filter
def server_words(server: Server, today: date) -> str:
    """How much of it is kept or free, and when it is dry enough."""
    said = []
    if server.kept_m3:
        said.append(_("%(volume)s reserved for this") % {"volume": m3(server.kept_m3)})
    if server.kept_else_m3:
        said.append(_("%(volume)s reserved for others") % {"volume": m3(server.kept_else_m3)})
    if not server.is_dry:
        said.append(_days(server, today))
    return " · ".join(said)


def _days(server: Server, today: date) -> str:
    if server.days is None:
        return _("needs the kiln, and no charge has it yet")
    middle, sure = (day_words(one, today) for one in server.days)
    words = _("out of the kiln %(middle)s, 9 in 10 by %(sure)s") if server.by_kiln else _(
        "dry enough %(middle)s, 9 in 10 by %(sure)s"
    )  # fmt: skip
    return words % {"middle": middle, "sure": sure}


@register.filter
def short_words(cuts: LineCuts, line: NeedLine) -> str:
    """ "Saw 12 more pieces"."""
    if line.unit == Unit.PIECES:
        count = round(cuts.short)
        return ngettext("Saw %(count)d more piece", "Saw %(count)d more pieces", count) % {"count": count}
    return _("Saw %(amount)s more") % {"amount": counted(cuts.short, line, 1)}


@register.filter
def strip_words(board: BoardCut) -> list[str]:
    """ "2 strips of 93 mm: 5 × 720 mm", of equal strips together."""
    counted = Counter((width, tuple(lengths)) for width, lengths in board.strips)
    return [_strips(width, lengths, count) for (width, lengths), count in counted.items()]


def _strips(width: int, lengths: tuple[int, ...], count: int) -> str:
    said = ngettext("%(count)d strip of %(width)s", "%(count)d strips of %(width)s", count)
    words = said % {"count": count, "width": mm(width)}
    if not lengths:
        return words
    each = _("%(words)s, each %(pieces)s") if count > 1 else "%(words)s: %(pieces)s"
    return each % {"words": words, "pieces": f"{len(lengths)} × {mm(lengths[0])}"}


@register.filter
def room_words(need: Need) -> str:
    """What the wood comes to where it will live, and whether it will swell or shrink there; empty without its air.

    A difference under ROOM_OFF_PCT moves no joint that anybody sees: a choice.
    """
    comes_to = outlook.room_moisture_pct(need.room_c, need.room_humidity_pct)
    if comes_to is None:
        return ""
    words = {"c": celsius(need.room_c or 0), "rh": number(need.room_humidity_pct or 0, 0), "pct": number(comes_to, 1)}
    said = _("It will live in air of %(c)s and %(rh)s %%: wood comes to %(pct)s %% there.") % words
    off = need.target_pct - comes_to
    if abs(off) < ROOM_OFF_PCT:
        return said
    points = {"points": number(abs(off), 1)}
    if off > 0:
        return f"{said} {_('It is to stay %(points)s points wetter than that: it will shrink there.') % points}"
    return f"{said} {_('It is to be dried %(points)s points further than that: it will swell there.') % points}"
