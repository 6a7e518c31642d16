"""What to saw, out of which logs and by when, in words."""

from datetime import date

from django import template
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from yard.measures.told import m3, metres, mm, round_m3, sides, size_up
from yard.models import Unit
from yard.outlook import Logs, SawDays, SawLine, ToSaw
from yard.templatetags import amounts
from yard.templatetags.needed import chance

register = template.Library()


@register.simple_tag
def saw_finest() -> str:
    """What sizes to saw are rounded up to: "1 mm", "1/16 in"."""
    return mm(size_up(0.1))


@register.filter
def saw_amount(saw: ToSaw) -> str:
    """ "26 pieces", or "0.80 m³" of random widths."""
    if saw.pieces is None:
        return m3(saw.volume_m3)
    return ngettext("%(count)d piece", "%(count)d pieces", saw.pieces) % {"count": saw.pieces}


@register.filter
def saw_size(saw: ToSaw) -> str:
    """ "25 × 99 mm × 1.00 m", "27 mm, any width"."""
    if not saw.width_mm:
        words = _("%(thickness)s, any width") % {"thickness": mm(size_up(saw.thickness_mm))}
    else:
        words = sides(size_up(saw.thickness_mm), size_up(saw.width_mm))
    return f"{words} × {metres(saw.length_mm)}" if saw.length_mm else words


@register.filter
def log_words(logs: Logs) -> str:
    """ "3 logs of 350 mm at half their length and 3.3 m (0.32 m³ each)."."""
    said = ngettext(
        "%(count)d log of %(diameter)s at half its length and %(length)s (%(each)s).",
        "%(count)d logs of %(diameter)s at half their length and %(length)s (%(each)s each).",
        logs.count,
    )
    length = metres(1000 * logs.length_m, 1)
    return said % {
        "count": logs.count,
        "diameter": mm(size_up(logs.diameter_mm, finest=4)),
        "length": length,
        "each": round_m3(logs.each_m3),
    }


@register.filter
def saw_for(one: SawLine) -> str:
    """ "26 of 30 pieces", "of 24 m²": how much of the line that is."""
    words = {"part": amounts.number(one.saw.for_quantity, 0), "all": amounts.number(one.line.quantity, 0)}
    if one.line.unit == Unit.PIECES:
        return _("%(part)s of %(all)s pieces") % words
    words = {name: amounts.number(value, 1) for name, value in (("part", one.saw.for_quantity),
                                                                  ("all", one.line.quantity))}  # fmt: skip
    return _("%(part)s of %(all)s %(unit)s") % (words | {"unit": one.line.get_unit_display()})


@register.filter
def saw_by_words(when: SawDays, today: date) -> str:
    """ "Saw it by 3 March.": the last day that keeps the date nine times in ten, or that it is past."""
    if when.ready is None:
        return _("Nobody can say when it is dry")
    if not when.is_late:
        return _("Saw it by %(day)s") % {"day": amounts.day(when.saw_by, today)}
    if when.saw_by is None:
        return _("Too late to be sure of it")
    return _("Too late to be sure: %(day)s was the last day") % {"day": amounts.day(when.saw_by, today)}


@register.filter
def saw_chance_words(when: SawDays, today: date) -> str:
    """What that day is worth, or which chance is left."""
    if when.ready is None:
        return _hopeless(when)
    by, middle, sure = (amounts.day(one, today) for one in (when.by, *when.ready))
    if not when.is_late:
        words = _("Then it is dry by %(by)s nine times in ten.") % {"by": by}
        if when.even and when.even != when.saw_by:
            words += " " + _("Sawn on %(day)s it is as likely late as not.") % {"day": amounts.day(when.even, today)}
        return words
    said = {"sawn": amounts.day(when.sawn, today), "by": by, "chance": chance(when.chance)}
    said |= {"middle": middle, "sure": sure}
    words = _("Sawn on %(sawn)s, its chance to be dry by %(by)s is %(chance)s.") % said
    if when.is_hopeless:
        words = _("Sawn on %(sawn)s it can't be dry by %(by)s.") % said
    return words + " " + _("It is dry about %(middle)s, nine times in ten by %(sure)s.") % said


def _hopeless(when: SawDays) -> str:
    words = {"to": amounts.pct_short(when.to_pct)}
    if when.reachable_pct is not None and when.reachable_pct > when.to_pct:
        reached = amounts.pct(when.reachable_pct)
        return _("This place dries it to %(reached)s at best, and it must come to %(to)s there.") % (
            words | {"reached": reached}
        )
    return _("It does not surely come to %(to)s there within four years.") % words


@register.filter
def saw_takes_words(when: SawDays) -> str:
    """ "213 days outdoors to 20 % (9 in 10: 290), then 12 in the kiln (9 in 10: 18)."."""
    if when.outdoors is None:
        return ""
    _low, middle, sure = when.outdoors
    words = {"days": amounts.days(middle), "sure": sure, "to": amounts.pct_short(when.to_pct)}
    said = _("%(days)s outdoors to %(to)s (9 in 10: %(sure)s)") % words
    if when.kiln is None:
        return f"{said}."
    kiln = {"days": amounts.days(when.kiln[1]), "sure": when.kiln[2]}
    return f"{said}, " + _("then %(days)s with the kiln (9 in 10: %(sure)s).") % kiln
