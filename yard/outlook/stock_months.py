"""How much stood in the yard at the end of each month, by what it was then: on the way, in the kiln, dry.

Boards keep the day on which they were sawn when stacks are split, so that a split changes nothing here; a stack that
was joined into another counts by itself until then. A tally put right counts as if it had always been so. Three
queries, whatever the yard's size.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
from django.db.models import Exists, OuterRef, Q

from yard.models import Event, PlaceKind, Stack, Stay

MONTHS = 12
FAR = float("inf")


@dataclass(frozen=True, slots=True)
class MonthEnd:
    """Green m³ at the end of a day."""

    day: date
    drying_m3: float
    kiln_m3: float
    dry_m3: float

    @property
    def volume_m3(self) -> float:
        return self.drying_m3 + self.kiln_m3 + self.dry_m3


def month_ends(on: date, count: int = MONTHS) -> list[date]:
    """The last days of the `count` - 1 months before a day, and that day."""
    days = [on]
    for _month in range(count - 1):
        days.append(days[-1].replace(day=1) - timedelta(days=1))
    return days[::-1]


def stock_by_month(on: date, species: int | None = None) -> list[MonthEnd]:
    """Of all species, or of one by its key."""
    days = month_ends(on)
    wood = _wood(species, days[0])
    kilns = list(_in_kilns(species))
    index = {pk: place for place, pk in enumerate(wood.stack)}
    return [_on(day, wood, kilns, index) for day in days]


@dataclass(frozen=True, slots=True)
class _Wood:
    """A row a stack, and one with a volume below nothing for what was laid on another, until it was."""

    stack: list[int]
    volume: Any
    born: Any
    left: Any
    dried: Any


def _wood(species: int | None, first: date) -> _Wood:
    """Of what stood on a day or since. What was used before it still counts where another was joined into it."""
    stacks = Stack.objects.filter(**({"species": species} if species else {}))
    before = datetime.combine(first, time(), tzinfo=UTC)
    bears = Exists(Stack.objects.filter(joined_into=OuterRef("pk")))
    stacks = stacks.filter(Q(used_at=None) | Q(used_at__gte=before) | Q(joined_into__isnull=False) | bears)
    names = ("pk", "green_m3", "cut_on", "used_at", "kiln_dried_on", "joined_into")
    rows = list(stacks.with_green_m3().order_by("pk").values_list(*names))
    joined = _joined_at(species)
    by_pk = {row[0]: row for row in rows}
    found: list[tuple[int, float, float, float, float]] = []
    for pk, volume, cut_on, used_at, dried_on, into in rows:
        gone = joined.get(pk, _ordinal(used_at)) if into else _ordinal(used_at)
        found.append((pk, volume, cut_on.toordinal(), gone, dried_on.toordinal() if dried_on else FAR))
        if into in by_pk:  # its boards are in that tally too: not before they were laid there
            other = by_pk[into]
            dried = other[4].toordinal() if other[4] else FAR
            found.append((into, -volume, other[2].toordinal(), gone, dried))
    columns = np.array([one[1:] for one in found], dtype=float).reshape(-1, 4).T
    return _Wood([one[0] for one in found], *columns)


def _joined_at(species: int | None) -> dict[int, float]:
    events = Event.objects.filter(kind=Event.Kind.JOINED, details__has_key="into", stack__joined_into__isnull=False)
    if species:
        events = events.filter(stack__species=species)
    return {pk: _ordinal(at) for pk, at in events.order_by("at", "pk").values_list("stack", "at")}


def _in_kilns(species: int | None) -> Iterable[tuple[int, float, float]]:
    """By stack: from when to when it stood in a kiln."""
    stays = Stay.objects.filter(stack__in=Stay.objects.filter(place__kind=PlaceKind.KILN).values("stack"))
    if species:
        stays = stays.filter(stack__species=species)
    rows = list(stays.order_by("stack", "since", "pk").values_list("stack", "since", "place__kind"))
    ends = [_ordinal(after[1]) if after[0] == one[0] else FAR for one, after in pairwise(rows)]
    for (stack, since, kind), end in zip(rows, [*ends, FAR], strict=False):
        if kind == PlaceKind.KILN:
            yield stack, _ordinal(since), end


def _on(day: date, wood: _Wood, kilns: Sequence[tuple[int, float, float]], index: dict[int, int]) -> MonthEnd:
    at = day.toordinal() + 0.999
    here = (wood.born <= at) & (wood.left > at)
    dry = wood.dried <= at
    volume = np.where(here, wood.volume, 0.0)
    inside = [index[stack] for stack, since, until in kilns if since <= at < until and stack in index]
    kiln = sum(volume[place] for place in inside if not dry[place])
    total, dried = float(volume.sum()), float(volume[dry].sum())
    return MonthEnd(day, max(total - dried - kiln, 0.0), float(kiln), max(dried, 0.0))


def _ordinal(at: datetime | None) -> float:
    """Days, with their part; never for None."""
    if at is None:
        return FAR
    midnight = datetime.combine(at.astimezone(UTC).date(), time(), tzinfo=UTC)
    return midnight.toordinal() + (at - midnight) / timedelta(days=1)
