"""Fixings as the core takes them, and what it says of those that it can't keep."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from drying import plan as core
from kilnruns.models import Fixing


def wish(one: Fixing, first_day: date) -> core.Fixing:
    """A row in the core's terms; its stacks must be at hand."""
    return core.Fixing(
        kind=one.kind,
        code=one.stack.code,
        kiln=None if one.kiln_id is None else str(one.kiln_id),
        start_day=_day(one.start_on, first_day),
        other=one.other.code if one.other else None,
        until_day=_day(one.until, first_day),
    )


def wishes(fixings: Iterable[Fixing], first_day: date, codes: Collection[str]) -> list[core.Fixing]:
    """Those of stacks that are planned for: nobody need be told of one that is dry already."""
    found = [wish(one, first_day) for one in fixings]
    return [one for one in found if one.code in codes and (one.other is None or one.other in codes)]


def told(
    unmet: Iterable[core.Clash], fixings: Sequence[Fixing], first_day: date, kept_from: Mapping[str, Sequence[str]]
) -> list[dict[str, Any]]:
    """Clashes as plain data, each with the key of the fixing it is about and its stack's code. `kept_from` tells which
    kilns a stack is kept from because they are not yet known, though they could dry it."""
    keys = {wish(one, first_day): one.pk for one in fixings}
    return [
        {
            "fixing": keys.get(one.fixing),
            "code": one.fixing.code,
            "why": _why(one, kept_from),
            "figures": dict(one.figures),
        }
        for one in unmet
    ]


def _why(one: core.Clash, kept_from: Mapping[str, Sequence[str]]) -> str:
    unknown = one.why == "cannot_dry" and str(one.figures.get("kiln")) in kept_from.get(one.fixing.code, ())
    return "first_charge" if unknown else one.why


def _day(day: date | None, first_day: date) -> int | None:
    return None if day is None else (day - first_day).days
