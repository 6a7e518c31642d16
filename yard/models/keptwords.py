"""Words of the app's own that are kept where people write theirs, too: why a reading is void, what wood is kept for.

Kept are the sentence as the sources have it (English), a code, a name, an ISO day; each reader reads it in their
language. Rows of before hold it as worded in one of the languages: they are known by its wordings. A sentence that
was kept once stays in these lists, or its rows are read as they stand.
"""

import re
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from functools import cache

from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

VOIDED = {
    "stack": _("Taken at another stack"),
    "typed": _("Mistyped, or the meter was set wrong"),
    "spot": _("A wet pocket or rain: not the stack's moisture"),
}
LEFT_OUT = {
    "tag": _("Wrong tag: some readings are another stack's"),
    "pocket": _("A wet pocket, rain or snow got in"),
    "stood": _("It stood otherwise than others: covered, in the sun, tight stickers"),
}
UNDONE = _("Undone")
INSTEAD = _("Chosen in place of %(day)s")
REASONS = (*VOIDED.values(), *LEFT_OUT.values(), UNDONE)

CLIMATES = {
    "temperate_inland": _("Temperate, inland"),
    "mild_coast": _("Mild, by the sea"),
    "cool_upland": _("Cool upland"),
    "cold_continental": _("Cold winters, warm summers"),
    "warm_dry": _("Warm, dry summers"),
}
INVENTED = _("invented")

FOR_CHARGE = _("%(kiln)s, %(day)s")
SET_HERE = _("set here by %(name)s on %(day)s")

PAPERS = {"delivery_note": _("delivery note"), "dry_certificate": _("dry certificate")}

IN_THE_NAME_OF = _("%(how)s, in the name of %(who)s: %(sender)s may no longer do this")
UNDER_TAG = _("kept under %(code)s")
BELONGS = _("belongs to %(code)s")
SAME = _("the same as %(code)s; the second entry is dropped")
DROPPED = _("dropped: %(reason)s")
AS_SENT = _("taken as it was sent")
SETTLED = (UNDER_TAG, BELONGS, SAME, DROPPED, AS_SENT)

A_LEAP_YEAR = date(2000, 1, 1)


def set_aside(kept: str) -> str:
    """What wood is kept for: a charge's kiln and day, or somebody's words."""
    kiln, comma, on = kept.rpartition(", ")
    day = (_day(on) or _days_without_year().get(on)) if comma else None
    return gettext(FOR_CHARGE) % {"kiln": kiln, "day": date_format(day, "j F")} if day else kept


def for_charge(kiln: object, on: date) -> str:
    """As `set_aside` reads it."""
    return f"{kiln}, {on.isoformat()}"


def set_aside_parts(told: str) -> tuple[str, str] | None:
    """Of what is searched for as `set_aside` tells it, how the kept one begins and ends."""
    kiln, comma, on = told.rpartition(", ")
    day = _days_without_year().get(on)
    return (kiln + comma, f"-{day:%m-%d}") if day else None


def reason(kept: str) -> str:
    """Why something is void, left out or fixed: a usual reason, maybe with somebody's words, or those alone."""
    usual = _wordings(REASONS)
    found = next((one for one in usual if kept == one or kept.startswith(f"{one}: ")), None)
    if found:
        return gettext(usual[found]) + kept.removeprefix(found)
    facts = facts_of(kept, INSTEAD)
    return gettext(INSTEAD) % {"day": _in_words(facts["day"])} if facts else kept


def with_words(usual: str, own: str) -> str:
    """As `reason` reads it."""
    return f"{usual}: {own}" if own else usual


def settled(kept: str) -> str:
    """How something was sorted out."""
    facts = facts_of(kept, IN_THE_NAME_OF)
    if facts:
        return gettext(IN_THE_NAME_OF) % (facts | {"how": settled(facts["how"])})
    for sentence in SETTLED:
        facts = facts_of(kept, sentence)
        if facts is not None:
            return gettext(sentence) % facts
    return kept


def set_here(kept: str) -> str:
    """Whence a figure of a species is that an owner set."""
    facts = facts_of(kept, SET_HERE)
    return gettext(SET_HERE) % (facts | {"day": _in_words(facts["day"])}) if facts else kept


def paper(kept: str) -> str:
    """A paper by its kind and number."""
    kind, space, number = kept.rpartition(" ")
    words = PAPERS.get(kind) or _wordings(PAPERS.values()).get(kind)
    return gettext(words) + space + number if words else kept


def climate(kept: str) -> str:
    """Where a place's months come from: one of the app's climates, or somebody's words."""
    name, _bracket, note = kept.partition(" (")
    names, notes = _wordings(CLIMATES.values()), _wordings([INVENTED])
    if name in names and note.removesuffix(")") in notes:
        return f"{gettext(names[name])} ({gettext(INVENTED)})"
    return kept


def of_climate(key: str) -> str:
    """As `climate` reads it."""
    return f"{CLIMATES[key]} ({INVENTED})"


def figure(text: str) -> str:
    """A figure of a kept sentence, with the reader's decimal sign."""
    return number_format(Decimal(text))


def _in_words(on: str) -> str:
    day = _day(on)
    return date_format(day, "j F Y") if day else on


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if len(text) == len("2000-01-01") else None
    except ValueError:
        return None


def facts_of(kept: str, sentence: str) -> dict[str, str] | None:
    """What a sentence was said with, in whatever language it was kept."""
    for pattern in _patterns(sentence):
        found = pattern.fullmatch(kept)
        if found:
            return found.groupdict()
    return None


@cache
def _patterns(sentence: str) -> list[re.Pattern[str]]:
    return [re.compile(_pattern(worded), re.DOTALL) for worded in _wordings([sentence])]


def _pattern(worded: str) -> str:
    parts = re.split(r"%\((\w+)\)s", worded)
    return "".join(f"(?P<{part}>.+)" if at % 2 else re.escape(part) for at, part in enumerate(parts))


def _wordings(sentences: Iterable[str]) -> dict[str, str]:
    return _worded(tuple(sentences))


@cache
def _worded(sentences: tuple[str, ...]) -> dict[str, str]:
    """Each sentence by its words in the sources and in each language."""
    found = {one: one for one in sentences}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            found |= {gettext(one): one for one in sentences}
    return found


@cache
def _days_without_year() -> dict[str, date]:
    """As charges' days were kept before, in each language's words."""
    days = [A_LEAP_YEAR + timedelta(days=n) for n in range(366)]
    found: dict[str, date] = {}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            found |= {date_format(day, "j F"): day for day in days}
    return found
