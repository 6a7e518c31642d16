"""Where a figure of a species comes from: publications by their own words, what the book says itself in the reader's.

The book keeps its sources as they stand in its table. A test holds these sentences to that table.
"""

import re
from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

from yard.models import keptwords, woodname

ANALOGY = _("by analogy with %(wood)s, our choice")
THAT_FITTED, THAT_ONE = _("that one fitted by `manage.py refit`"), _("that one:")
FITTED = _("the rate fitted by `manage.py refit` to")
TIMES_FITTED = _("%(times)s times the rate fitted by `manage.py refit` to")
TWO_WOODS = _("maple and ash")
SENTENCES = frozenset({
    _("0.45 where fitted, 0.6 where by analogy: our choice"),
    _("0.54 in earlier editions"),
    _("R and T cross-checked in an independent secondary listing"),
    _("R and T cross-checked in several independent secondary listings"),
    _("R and T inside the DIN 68100 range read in a handbook table"),
    _("R and T reproduce the table 13-5 coefficients that were read"),
    _("SG recalled from handbook"),
    _("SG recalled from handbook, not IPCC"),
    _("aspen is often given near 0.40"),
    _("green MC is a rough typical value, measure instead"),
    _("handbook, recalled"),
    _("no published safe rate at hand"),
    _("no published schedule code at hand"),
    _("not in the tables at hand"),
    _("our choice for this wood: free water moves slowly (1) to fast (5)"),
    _("recalled from European wood-technology handbooks (Kollmann; Wagenführ Holzatlas); total shrinkage green to "
      "oven-dry"),
    _("recalled typical range mid-values, European handbooks"),
    _("sapwood value uncertain between editions (110 or 119)"),
    _("shrinkage sources vary"),
    _("table 4-1 lists one aspen row"),
})  # fmt: skip
FILLED = (_("IPCC value is for genus %(genus)s"), _("green MC cross-checked (%(pair)s) in an independent model file"))
_ANALOGY = re.compile(r"by analogy with (?P<wood>[^,;]+), our choice(?:; (?P<rest>.+))?")
_FITTED = re.compile(r"(?:(?P<times>[\d.]+) times )?the rate fitted by `manage\.py refit` to (?P<quoted>.+)")


@dataclass(frozen=True, slots=True)
class Part:
    """`is_quoted`: in the words, and the language, of a publication."""

    text: str
    is_quoted: bool = False


def told(kept: str) -> list[Part]:
    """A figure's source, in parts that follow each other with a blank between."""
    if not kept:
        return []
    if found := _ANALOGY.fullmatch(kept):
        wood, rest = found["wood"], found["rest"]
        named = gettext(TWO_WOODS) if wood == TWO_WOODS else woodname.told(wood)
        said = gettext(ANALOGY) % {"wood": named}
        return [Part(f"{said};"), *_of_that_one(rest)] if rest else [Part(said)]
    if found := _FITTED.fullmatch(kept):
        times = found["times"]
        said = gettext(TIMES_FITTED) % {"times": keptwords.figure(times)} if times else gettext(FITTED)
        return [Part(said), Part(found["quoted"], is_quoted=True)]
    if kept in SENTENCES:
        return [Part(gettext(kept))]
    said = keptwords.set_here(kept)
    return [Part(said, is_quoted=said == kept)]


def _of_that_one(rest: str) -> list[Part]:
    if rest == THAT_FITTED:
        return [Part(gettext(THAT_FITTED))]
    return [Part(gettext(THAT_ONE)), Part(rest.removeprefix(f"{THAT_ONE} "), is_quoted=True)]


def note(kept: str) -> list[Part]:
    """What the book remarks on a wood: sentences, a semicolon between."""
    said = [_remark(one) for one in kept.split("; ") if one]
    last = len(said) - 1
    return [Part(one.text + (";" if at < last else "."), one.is_quoted) for at, one in enumerate(said)]


def _remark(kept: str) -> Part:
    if kept in SENTENCES:
        return Part(gettext(kept))
    for sentence in FILLED:
        facts = keptwords.facts_of(kept, sentence)
        if facts:
            return Part(gettext(sentence) % facts)
    return Part(kept, is_quoted=True)
