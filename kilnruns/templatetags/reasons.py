"""Why a plan leaves a stack out: its figures made ready for words, days as dates and kilns by name.

The words are in templates/kilnruns/_reason.html, one sentence for each of the planner's codes.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import template
from django.template.loader import render_to_string
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kilnruns.models import LeftOut, Plan

register = template.Library()

DAYS = {"ready_p10", "ready_p50", "ready_p90", "until", "ready", "day", "due", "latest_start"}

# The planner's codes in the order in which they are told: what can be mended first.
HEADS: dict[str, Promise] = {
    "too_long": _("Longer than any kiln takes"),
    "too_large": _("Too large for any kiln"),
    "no_pack": _("Their packs are not measured"),
    "no_kiln": _("No kiln brings them to their target"),
    "first_charge": _("The kiln is not yet known: first an easy charge"),
    "no_partners": _("Not enough for a charge"),
    "narrowly_out": _("Next in line"),
    "part_only": _("A part goes, the rest waits"),
    "kiln_blocked": _("The kiln is taken"),
    "no_time_left": _("Ready too late for this plan"),
    "space_worth_more": _("Others bring more"),
    "wait_for_due": _("Not wanted before"),
    "too_wet": _("Still too wet"),
    "fixed_out": _("What is fixed leaves them no place"),
    "held": _("Set aside or held back"),
}
CLASH_DAYS = {"start", "begin", "my_start", "my_end", "end"} | DAYS


@dataclass(frozen=True, slots=True)
class Group:
    """All stacks that a plan leaves out for one reason."""

    head: Any
    stacks: list[LeftOut]


@register.filter
def by_reason(left_out: Iterable[LeftOut]) -> list[Group]:
    """The stacks that a plan leaves out, grouped by why."""
    rows = list(left_out)
    known = [Group(head, [row for row in rows if row.why == why]) for why, head in HEADS.items()]
    other = Group(_("Left out"), [row for row in rows if row.why not in HEADS])
    return [group for group in (*known, other) if group.stacks]


@register.inclusion_tag("kilnruns/_reason.html")
def reason(left_out: LeftOut, plan: Plan, kilns: Mapping[str, str]) -> dict[str, Any]:
    """{% reason row plan kilns %}: `kilns` has the names by key, as text."""
    figures = {name: _told(name, value, plan.first_day) for name, value in left_out.figures.items()}
    figures["kiln"] = kilns.get(str(left_out.figures.get("kiln")), _("the kiln"))
    return {"why": left_out.why, "f": figures, "stack": left_out.stack, "beside": plan.first_day}


def clash_sentence(clash: Mapping[str, Any], first_day: date, kilns: Mapping[str, str]) -> str:
    """Why a wish can't be kept, with the figures and days that say how to mend it; `clash` as planning tells it."""
    figures = dict(clash["figures"])
    told = {
        name: first_day + timedelta(days=int(value)) if name in CLASH_DAYS and value is not None else value
        for name, value in figures.items()
    }
    if figures.get("horizon") is not None:
        told["last"] = first_day + timedelta(days=int(figures["horizon"]) - 1)
    told["kiln"] = kilns.get(str(figures.get("kiln")), gettext("a kiln"))
    return render_to_string("kilnruns/_clash.html", {"why": clash["why"], "f": told, "beside": first_day})


@register.simple_tag
def clash(one: Mapping[str, Any], first_day: date, kilns: Mapping[str, str]) -> str:
    """{% clash one day kilns %}: the sentence for a fixing that a plan could not keep."""
    return clash_sentence(one, first_day, kilns)


def _told(name: str, value: Any, first_day: date) -> Any:
    """A day number as its date; all else as it is."""
    return first_day + timedelta(days=int(value)) if name in DAYS and value is not None else value
