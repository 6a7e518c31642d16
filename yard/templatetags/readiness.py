"""When a stack is ready, in words: a line for lists, a sentence for its own page; watches and notes in words."""

from datetime import date
from typing import Any

from django import template
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from yard.models import Reading, Stack
from yard.outlook import Standing, State, meter_scales
from yard.templatetags.amounts import day, day_band, pct, pct_short
from yard.templatetags.strip_drawing import state as moisture_state

register = template.Library()

NOTES = {
    "above_usable_range": gettext_lazy("above about 30 % a meter says little more than “wet”"),
    "below_usable_range": gettext_lazy("below about 6 % meters are unsure"),
    "outside_temperature_chart": gettext_lazy("beyond the published temperature corrections; the nearest was taken"),
    "frozen_wood": gettext_lazy("frozen wet wood can't be read with pins"),
    "no_temperature_rule": gettext_lazy("not corrected for temperature"),
    "no_species_curve": gettext_lazy("no published curve of this wood, so not corrected for it"),
    "no_meter_scale_curve": gettext_lazy("no published curve of the meter's wood, so not corrected for the species"),
    "outside_species_curve": gettext_lazy("beyond the published curve, so not corrected for the species"),
    "meter_scale_not_given": gettext_lazy("not corrected for the species: the meter's setting was not said"),
    "species_not_given": gettext_lazy("no published curve of this wood, so not corrected for it"),
    "clock_off": gettext_lazy("the phone's clock was wrong; the time is put right by ours"),
    "clock_doubted": gettext_lazy("the phone's clock was changed meanwhile; the time is when it arrived"),
    "temperature_assumed": gettext_lazy("wood temperature not taken, the season's mean assumed"),
}
CHANGES = {
    "shade": gettext_lazy("shade it on the sunny side"),
    "windbreak": gettext_lazy("hang a windbreak on the weather side"),
    "close_up": gettext_lazy("stand it closer to its neighbours or under a roof"),
    "more_air": gettext_lazy("give it air: wider gaps, thicker stickers, a windier place"),
    "kiln_first": gettext_lazy("take it to the kiln before the others"),
    "sticker": gettext_lazy("put stickers in today"),
}
TONES = {State.READY: "ready", State.NEVER: "warn", State.LATE: "warn"}


@register.simple_tag
def ready_line(standing: Standing, today: date) -> str:
    """When, in the fewest words that are true."""
    outlook = standing.outlook
    if standing.state == State.READY and outlook:
        return _("ready")
    if standing.state == State.DRYING and outlook:
        return _("ready about %(day)s") % {"day": day(outlook.ready_p50, today)}
    if standing.state == State.NEVER and outlook:
        shown = {"target": _aim(standing), "best": pct(outlook.reachable_pct, 0)}
        return _("never %(target)s here: the air allows %(best)s") % shown
    if standing.state == State.DRIED:
        return _("kiln-dried %(day)s") % {"day": day(standing.stack.kiln_dried_on, today)}
    words = {
        State.LATE: _("not within two years"),
        State.UNKNOWN: _("no forecast yet"),
        State.IN_KILN: _("in the kiln"),
        State.GONE: _("gone"),
    }
    return words[standing.state]


@register.inclusion_tag("components/badge.html")
def ready_badge(standing: Standing, today: date) -> dict[str, str]:
    """The same as a badge, toned by state, or by moisture while the stack dries."""
    target = standing.stack.kiln_entry_pct
    tone = TONES.get(standing.state)
    if tone is None and standing.is_under_way:
        tone = moisture_state(standing.moisture_pct, target)
    tone = "dry" if tone == "ready" and standing.state != State.READY else tone
    return {"state": tone or "plain", "word": ready_line(standing, today)}


@register.inclusion_tag("components/say.html")
def ready_say(standing: Standing, today: date) -> dict[str, str]:
    """The card of a stack's own page: when, and how sure."""
    verb, why = _sentences(standing, today)
    return {"verb": verb, "why": why, "tone": TONES.get(standing.state, "")}


def _sentences(standing: Standing, today: date) -> tuple[str, str]:
    stack, outlook = standing.stack, standing.outlook
    if standing.is_under_way and outlook:
        return _forecast_sentences(standing, today)
    if standing.state == State.UNKNOWN:
        return _("No forecast yet"), _("This place has no climate. Give it one, and the forecast follows.")
    if standing.state == State.IN_KILN:
        return _("In %(place)s") % {"place": stack.place}, _("It goes on drying there; the yard's forecast rests.")
    if standing.state == State.DRIED:
        shown = {"day": day(stack.kiln_dried_on, today), "target": pct(stack.target_pct, 0)}
        return _("Kiln-dried on %(day)s") % shown, _("It was dried for %(target)s. Read it again before use.") % shown
    return _gone(stack, today)


def _forecast_sentences(standing: Standing, today: date) -> tuple[str, str]:
    outlook: Any = standing.outlook
    target = _aim(standing)
    best = _("The air here allows %(best)s at best.") % {"best": pct(outlook.reachable_pct, 0)}
    if standing.state == State.READY:
        return _("Ready for the kiln"), _ready_since(outlook, target, today)
    if standing.state == State.NEVER:
        place = _("This place allows %(best)s at best.") % {"best": pct(outlook.reachable_pct, 0)}
        way = _("Move it to a drier place, or let it go into the kiln wetter.")
        return _("Can't reach %(target)s here") % {"target": target}, f"{place} {way}"
    if standing.state == State.LATE:
        return _("Not ready within two years"), f"{_late(outlook, today)} {best}".strip()
    verb = _("Ready about %(day)s") % {"day": day(outlook.ready_p50, today)}
    return verb, f"{_how_sure(outlook, today)} {best}"


def _aim(standing: Standing) -> str:
    """The kiln's entry moisture, as it was set: "20 %", "17.5 %"."""
    return pct_short(standing.stack.kiln_entry_pct)


def _ready_since(outlook: Any, target: str, today: date) -> str:
    shown = {"target": target, "day": day(outlook.ready_p50, today), "sure": day(outlook.ready_p90, today)}
    if outlook.ready_p90 and outlook.ready_p90 <= today:
        return _("At %(target)s since about %(day)s.") % shown
    if outlook.ready_p90:
        return _("At %(target)s since about %(day)s; nine times in ten by %(sure)s.") % shown
    return _("At %(target)s since about %(day)s, but not surely: take a reading.") % shown


def _how_sure(outlook: Any, today: date) -> str:
    if outlook.ready_p10 and outlook.ready_p90:
        band = day_band(outlook.ready_p10, outlook.ready_p90, today)
        return _("From %(band)s, four times in five.") % {"band": band}
    if outlook.ready_p10:
        early = day(outlook.ready_p10, today)
        return _("Hardly before %(day)s; the late end is open, by a year or more.") % {"day": early}
    return ""


def _late(outlook: Any, today: date) -> str:
    if not outlook.ready_p10:
        return ""
    return _("With luck from %(day)s, one time in ten.") % {"day": day(outlook.ready_p10, today)}


def _gone(stack: Stack, today: date) -> tuple[str, str]:
    if stack.joined_into_id:
        return _("Joined into another stack"), _("Its boards go on under the other tag.")
    shown = {"day": day(stack.used_at, today), "what": stack.used_for}
    return _("Used on %(day)s") % shown, (_("For: %(what)s.") % shown if stack.used_for else "")


@register.filter
def note_words(reading: Reading) -> list[str]:
    """What is to say about how a reading came about."""
    return [str(NOTES[code]) for code in reading.notes if code in NOTES]


@register.filter
def change_words(codes: Any) -> str:
    """What to do, the nearest at hand first: "shade it, or hang a windbreak"."""
    return _(", or ").join(str(CHANGES[code]) for code in codes if code in CHANGES)


@register.filter
def read_age(standing: Standing, today: date) -> str:
    """How old the last reading is: "read today", "read 4 days ago"."""
    if standing.read_at is None:
        return _("not read yet")
    past = (today - timezone.localtime(standing.read_at).date()).days
    if past <= 0:
        return _("read today")
    return ngettext("read %(count)d day ago", "read %(count)d days ago", past) % {"count": past}


@register.filter
def scale_name(key: str) -> str:
    """The wood that a meter was set to."""
    return dict(meter_scales()).get(key, key)
