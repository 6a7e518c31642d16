"""A kiln with no finished run is not yet known: until one is, it is offered what can be lost.

Low risk is: a group that bears a fault (EASY), boards of at most THICKEST_MM, and a value per m3 in the yard's lower
half. Choices of ours; an owner overrules them with `Kiln.trusted`.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median
from typing import Any

import numpy as np

from drying.offers import Lumber
from kilnruns.models import Charge, Kiln
from kilnruns.planning.groups import Groups
from kilnruns.planning.lumber import VALUE_PER_M3
from yard.models import DryingGroup, Stack

EASY = (DryingGroup.SOFTWOOD, DryingGroup.LIGHT_HARDWOOD)
THICKEST_MM = 32.0


@dataclass(frozen=True, slots=True)
class Unknown:
    """A kiln without a finished run. `until_day`: when its first charge, accepted or running, is done and the rest may
    follow; None while there is none, for then nobody knows."""

    kiln: Kiln
    until_day: int | None


def unknown_kilns(kilns: Sequence[Kiln], first_day: date) -> list[Unknown]:
    """One query; the kilns' `charges_ahead` must be at hand."""
    finished = Charge.objects.filter(started_at__isnull=False, unloaded_at__isnull=False)
    known = set(finished.values_list("kiln_id", flat=True).distinct())
    found: list[Any] = [kiln for kiln in kilns if kiln.pk not in known and not kiln.trusted]
    return [Unknown(kiln, _first_end(kiln, first_day)) for kiln in found]


def _first_end(kiln: Any, first_day: date) -> int | None:
    ends = [max((charge.ends_on - first_day).days, 0) for charge in kiln.charges_ahead]
    return min(ends, default=None)


def low_risk(stacks: Sequence[Stack], groups: Groups) -> set[str]:
    """Codes of the stacks that a kiln may be tried with. The species, not the group it was moved to, says what it
    bears."""
    values = {stack.code: stack.value_per_m3 or VALUE_PER_M3 for stack in stacks}
    most = median(values.values()) if values else 0.0
    return {
        stack.code
        for stack in stacks
        if values[stack.code] <= most
        and stack.thickness_mm <= THICKEST_MM
        and groups.schedule_group(stack.species) in EASY
    }


def masked(lumber: Lumber, unknown: Sequence[Unknown], easy: Collection[str]) -> Lumber:
    """Without the runs that an unknown kiln is not to be tried with: its days are infinite until it is known."""
    if lumber.code in easy or not unknown:
        return lumber
    days = dict(lumber.run_days)
    for one in unknown:
        code = str(one.kiln.pk)
        if code in days:
            series = np.array(days[code], dtype=float)
            series[: one.until_day] = np.inf
            days[code] = series
    return replace(lumber, run_days={code: series for code, series in days.items() if np.isfinite(series).any()})


def kept_from(before: Mapping[str, Lumber], after: Mapping[str, Lumber]) -> dict[str, list[str]]:
    """By stack, the kilns that could dry it and that it is kept from, since they are not yet known."""
    found = {code: sorted(set(one.run_days) - set(after[code].run_days)) for code, one in before.items()}
    return {code: kilns for code, kilns in found.items() if kilns}


def told(unknown: Sequence[Unknown], easy: Collection[str]) -> list[dict[str, Any]]:
    """For the plan's notes: which kilns are not yet known, and how many stacks one may be tried with."""
    return [{"kiln": one.kiln.pk, "easy": len(easy), "ahead": one.until_day is not None} for one in unknown]
