"""What is due and when, as plain data, one row a thing; words are put to it by `wording`."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from kilnruns.models import Charge, Closure
from kilnruns.reminding.rules import asks_for, charges_ahead, ready_stacks, warnings, weighing_days
from yard import outlook
from yard.models import Stack
from yard.models.stack import READING_DUE_DAYS

AHEAD_DAYS = 180
MOST_STACKS = 300
"""Of the stacks that will be ready, the next so many: a bound on the calendar's length."""
TO_DO = ("load", "loading", "unloading", "done", "weigh", "read", "ready", "care")
"""Kinds that ask somebody to do something; the others tell."""


@dataclass(frozen=True, slots=True)
class Due:
    """A thing that is due from `first_day` to `last_day`, both included, in the yard's own days.

    `key` stays the same as long as it is the same thing. `kind` is load, loading, unloading, done, weigh, read, ready,
    care, to_come or closed, and hot or watch for what brooks no delay; `daily` says that it comes again each day until
    the last. `facts` are what it is about: charge, closure or stacks, `since` (the day that it was due first, where
    that is past), `pins` (whether its wood is followed by pins alone), `low` and `high` (a forecast's P10 and P90, None
    where open), `is_news` (False for what stood there yesterday and hurries nobody).
    """

    key: str
    kind: str
    first_day: date
    last_day: date
    facts: Mapping[str, Any]
    daily: bool = False

    def is_due(self, on: date) -> bool:
        return self.kind in TO_DO and self.first_day <= on and self.facts.get("is_news", True)


def dues(on: date) -> list[Due]:
    """All that is due on a day and after it, the nearest first, in a fixed number of queries."""
    charges = charges_ahead()
    found = [*_of_charges(charges, on), *_to_read(on), *_ready(on), *_care(on), *_closed(on)]
    return sorted(found, key=lambda one: (one.first_day, TO_DO.index(one.kind) if one.kind in TO_DO else 99, one.key))


def _on(key: str, kind: str, day: date, on: date, **facts: Any) -> Due:
    """A thing of one day; what was not done on its day is due today."""
    facts["since"] = day if day < on else None
    return Due(key, kind, max(day, on), max(day, on), facts)


def _of_charges(charges: Sequence[Charge], on: date) -> Iterator[Due]:
    weighing = weighing_days(charges)
    for charge in charges:
        kind = asks_for(charge, on)
        if kind in ("", "to_load"):
            yield _on(f"load-{charge.pk}", "load", charge.start_on, on, charge=charge)
        elif kind in ("loading", "unloading"):
            yield _on(f"{kind}-{charge.pk}", kind, on, on, charge=charge)
        else:
            yield from _of_run(charge, weighing[charge.pk], on)


def _of_run(charge: Charge, weigh_on: date, on: date) -> Iterator[Due]:
    first = max(weigh_on, on)
    last = max(charge.ends_on - timedelta(1), first)
    since = weigh_on if weigh_on < on else None
    pins = all(item.pins_left for item in charge.stacks.all())
    what = {"charge": charge, "since": since, "pins": pins}
    yield Due(f"weigh-{charge.pk}", "weigh", first, last, what, daily=last > first)
    low, high = (charge.start_on + timedelta(days) for days in (charge.days_low, charge.days_high))
    yield _on(f"done-{charge.pk}", "done", charge.ends_on, on, charge=charge, low=low, high=high)


def _to_read(on: date) -> Iterator[Due]:
    """Stacks by the day when their next reading is due; those that are over it together, today."""
    by_day: dict[date, list[Stack]] = {}
    for stack in outlook.with_last_reading(Stack.objects.drying().select_related("species", "place")).order_by("code"):
        read_at = getattr(stack, "last_read_at", None)
        last = timezone.localtime(read_at).date() if read_at else stack.cut_on
        by_day.setdefault(max(last + timedelta(READING_DUE_DAYS), on), []).append(stack)
    for day, stacks in by_day.items():
        key = "read-now" if day == on else f"read-{day}"
        yield Due(key, "read", day, day, {"stacks": stacks})


def _ready(on: date) -> Iterator[Due]:
    """What is ready and in no charge, together; and each stack that will be, on its median day."""
    now: list[Stack] = []
    for stack in ready_stacks(on + timedelta(AHEAD_DAYS))[:MOST_STACKS]:
        day, low, high = stack.outlook.ready_p50, stack.outlook.ready_p10, stack.outlook.ready_p90
        if day <= on:
            now.append(stack)
        else:
            yield Due(f"ready-{stack.pk}", "to_come", day, day, {"stacks": [stack], "low": low, "high": high})
    if now:
        is_news = any(stack.outlook.ready_p50 == on for stack in now)
        yield Due("ready-now", "ready", on, on, {"stacks": now, "is_news": is_news})


def _care(on: date) -> Iterator[Due]:
    """Stacks whose watch says to act."""
    found = {one["stack"].pk: one["stack"] for one in warnings(on) if one["level"] == "act"}
    if found:
        yield Due("care-now", "care", on, on, {"stacks": list(found.values())})


def _closed(on: date) -> Iterator[Due]:
    closures = Closure.objects.filter(last_day__gte=on, first_day__lte=on + timedelta(AHEAD_DAYS), kiln__retired=False)
    for closure in closures.select_related("kiln__place"):
        yield Due(f"closed-{closure.pk}", "closed", closure.first_day, closure.last_day, {"closure": closure})
