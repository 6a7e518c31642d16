"""A kiln's own factor, from its finished runs: the days they took against the days that were predicted for them.

A run teaches when most of its wood was read at both ends. What was predicted is the curve kept with the charge; it is
held against the run between the moistures that were measured, so that wetter wood than forecast is not blamed on the
kiln.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.db.models import Prefetch

from drying.learning import RunOutcome, Shift, days_between, kiln_shift
from kilnruns.models import Charge, ChargeStack
from yard.models import LearningChange, Reading

BEFORE, AFTER = timedelta(days=14), timedelta(days=14)  # how old a reading of an end may be
MOST_WOOD = 0.5  # share of a charge's volume that must have been read at both ends
MOST = 300  # runs that are heard, the latest first


@dataclass(frozen=True, slots=True)
class RunTold:
    """A finished run from `from_pct` to `to_pct`; `forgotten`: unloaded before a reset of its kiln."""

    charge: Charge
    outcome: RunOutcome
    from_pct: float
    to_pct: float
    forgotten: bool

    @property
    def itself(self) -> Shift:
        return Shift(self.outcome.deviation, 0.0, 0.0, 1)


@dataclass(frozen=True, slots=True)
class KilnLearned:
    shift: Shift
    runs: Sequence[RunTold]


def kilns_learned() -> dict[int, KilnLearned]:
    """By kiln, what its finished runs teach; kilns without any are left out. Four queries."""
    resets = list(LearningChange.objects.filter(kind=LearningChange.Kind.RESET, species=None))
    found: dict[int, list[RunTold]] = {}
    for charge in _done():
        told = _told(charge, resets)
        if told:
            found.setdefault(charge.kiln_id, []).append(told)
    return {
        kiln: KilnLearned(kiln_shift([run.outcome for run in runs if not run.forgotten]), runs)
        for kiln, runs in found.items()
    }


def factors() -> dict[int, float]:
    """By kiln, the factor on its drying rates; in steps of a hundredth, so that equal runs are computed once."""
    return {kiln: round(one.shift.factor, 2) for kiln, one in kilns_learned().items()}


def _done() -> Any:
    readings = Prefetch("stack__readings", Reading.objects.valid().order_by("taken_at", "pk"), to_attr="valid_readings")
    items = ChargeStack.objects.select_related("stack__species").defer("stack__species__sources")
    items = items.prefetch_related(readings)
    done = Charge.objects.filter(started_at__isnull=False, unloaded_at__isnull=False).exclude(course={})
    rows = done.select_related("kiln__place").defer("layout").prefetch_related(Prefetch("stacks", items))
    return rows.order_by("-unloaded_at", "-pk")[:MOST]


def _told(charge: Charge, resets: Sequence[LearningChange]) -> RunTold | None:
    run = charge.course.get("run") or {}
    ends, curve = _ends(charge), run.get("curve")
    if ends is None or not curve or charge.started_at is None or charge.unloaded_at is None:
        return None
    expected = days_between(np.array(curve["days"]), np.array(curve["mean_pct"]), *ends)
    real = (charge.unloaded_at - charge.started_at) / timedelta(days=1)
    # the prediction may have had a factor learned earlier: told as of a kiln without one
    expected *= run.get("rate_factor", 1.0)
    if not (0.1 <= expected <= 1000 and 0.1 <= real <= 1000):
        return None
    places = (None, charge.kiln.place_id)
    forgotten = any(one.place_id in places and charge.unloaded_at <= one.at for one in resets)
    return RunTold(charge, RunOutcome(str(charge.pk), expected, real), *ends, forgotten)


def _ends(charge: Charge) -> tuple[float, float] | None:
    """Mean moisture measured before and after, by dry mass, of the stacks that were read at both ends."""
    read, whole = [], 0.0
    for item in charge.stacks.all():
        whole += item.volume_m3
        before = _reading(item, charge.started_at, -BEFORE)
        after = _reading(item, charge.unloaded_at, AFTER)
        if before is not None and after is not None:
            read.append((item.volume_m3, item.volume_m3 * item.stack.species.basic_density_kg_m3, before, after))
    if not read or sum(row[0] for row in read) < MOST_WOOD * whole:
        return None
    rows = np.array(read)
    return float(np.average(rows[:, 2], weights=rows[:, 1])), float(np.average(rows[:, 3], weights=rows[:, 1]))


def _reading(item: Any, at: datetime | None, reach: timedelta) -> float | None:
    """The reading nearest to a moment, up to `reach` before or after it; the same day counts on either side."""
    if at is None:
        return None
    day = timedelta(hours=12)
    first, last = (at + reach, at + day) if reach < timedelta(0) else (at - day, at + reach)
    near = [row for row in item.stack.valid_readings if first <= row.taken_at <= last]
    return min(near, key=lambda row: abs(row.taken_at - at)).moisture_pct if near else None
