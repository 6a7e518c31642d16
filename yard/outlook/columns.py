"""The standing stacks of some woods as columns, for what weighs each of them against many lines: no rows of models."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

import numpy as np
from django.db.models import QuerySet

from yard.models import Outlook, PlaceKind, Reservation, Species, Stack, TallyLine
from yard.outlook.curves import NO_DAY, Curves
from yard.outlook.standing import day_of, with_last_reading

READ = (
    "pk", "code", "species_id", "thickness_mm", "place__kind", "kiln_dried_on", "target_pct", "set_aside_for",
    "ready_on", "place__name",
)  # fmt: skip
TALLIED = ("stack_id", "length_mm", "width_mm", "count")


@dataclass(frozen=True, slots=True)
class LightStack:
    """What of a stack those who weigh it ask for; `lines` are length, width and count, the longest first."""

    pk: int
    code: str
    species: Species
    place: str
    thickness_mm: float
    volume_m3: float
    lines: list[tuple[int, int, int]]


@dataclass(frozen=True, slots=True)
class Tallies:
    """Boards by rows of their tallies, each with the place of its stack; a stack's own lie together, in their order."""

    of: Any
    length_mm: Any
    width_mm: Any
    count: Any

    @classmethod
    def of_stacks(cls, stacks: QuerySet[Stack], places: Mapping[int, int]) -> "Tallies":
        rows = TallyLine.objects.filter(stack__in=stacks.order_by().values("pk")).values_list(*TALLIED)
        known = [(places[row[0]], *row[1:]) for row in rows if row[0] in places]
        table = np.array(known, dtype=np.int64).reshape(-1, 4)
        return cls(*table[np.argsort(table[:, 0], kind="stable")].T)

    def lines(self, at: int) -> list[tuple[int, int, int]]:
        first, after = np.searchsorted(self.of, [at, at + 1])
        mine = slice(first, after)
        sizes = (self.length_mm[mine].tolist(), self.width_mm[mine].tolist(), self.count[mine].tolist())
        return list(zip(*sizes, strict=True))

    def summed(self, each: Any, stacks: int) -> Any:
        """By stack, of a figure of each row."""
        return np.bincount(self.of, weights=each, minlength=stacks)


@dataclass(slots=True)
class Columns:
    """In the order of their codes. `dry_pct`: what a stack has now, by its forecast or as it came out of the kiln, NaN
    where nobody can say; `ready`: the day it is ready for the kiln, NO_DAY without one; `taken_m3`: reserved for open
    needs. `places`: by stack where it stands here; `aside`: where those stand that are set aside for something."""

    pks: list[int]
    codes: list[str]
    stand_in: list[str]
    species: Any
    thickness_mm: Any
    volume_m3: Any
    dry_pct: Any
    ready: Any
    woods: Mapping[int, Species]
    tallies: Tallies
    taken_m3: Any
    places: Mapping[int, int]
    aside: Mapping[str, list[int]]
    curves: Curves
    curved: Any
    _days: dict[float, tuple[Any, Any]] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.pks)

    def light(self, at: int) -> LightStack:
        wood = self.woods[int(self.species[at])]
        sizes = float(self.thickness_mm[at]), float(self.volume_m3[at])
        return LightStack(self.pks[at], self.codes[at], wood, self.stand_in[at], *sizes, self.tallies.lines(at))

    def outdoors(self, at_most: float) -> tuple[Any, Any]:
        """When the forecasts come down to it without a kiln, in the middle and late; NO_DAY where they don't."""
        if at_most not in self._days:
            found = []
            for days in self.curves.first_days(at_most):
                whole = np.full(len(self), NO_DAY, np.int64)
                whole[self.curved] = days
                found.append(whole)
            self._days[at_most] = found[0], found[1]
        return self._days[at_most]


def columns_of(stacks: QuerySet[Stack], on: date) -> Columns:
    """A fixed number of queries."""
    rows = sorted(stacks.order_by().values_list(*READ), key=lambda row: row[1])
    places = {row[0]: at for at, row in enumerate(rows)}
    species, thickness = (np.array([row[at] for row in rows], dtype=kind) for at, kind in ((2, np.int64), (3, float)))
    tallies = Tallies.of_stacks(stacks, places)
    area_m2 = tallies.summed(tallies.length_mm * tallies.width_mm * tallies.count / 1e6, len(rows))
    curves, curved = _curves(stacks, places)
    now = _dried_pct(rows, stacks)
    now[curved] = curves.p50_on(on)
    aside: dict[str, list[int]] = defaultdict(list)
    for at, row in enumerate(rows):
        aside[row[7]].append(at)
    ready = np.array([row[8].toordinal() if row[8] else NO_DAY for row in rows], np.int64)
    return Columns(
        pks=[row[0] for row in rows],
        codes=[row[1] for row in rows],
        stand_in=[row[9] for row in rows],
        species=species,
        thickness_mm=thickness,
        volume_m3=area_m2 * thickness / 1000,
        dry_pct=now,
        ready=ready,
        woods=Species.objects.in_bulk({row[2] for row in rows}),
        tallies=tallies,
        taken_m3=_taken_m3(places),
        places=places,
        aside=aside,
        curves=curves,
        curved=curved,
    )


def _curves(stacks: QuerySet[Stack], places: Mapping[int, int]) -> tuple[Curves, Any]:
    """Of those that dry outdoors, and which those are."""
    outdoors = stacks.filter(kiln_dried_on=None).exclude(place__kind=PlaceKind.KILN)
    kept: Any = Outlook.objects.filter(stack__in=outdoors.order_by().values("pk")).with_curve_as_text()
    texts = [row for row in kept.values_list("stack_id", "curve_text") if row[0] in places]
    return Curves([text for _, text in texts]), np.array([places[stack] for stack, _ in texts], np.int64)


def _dried_pct(rows: list[Any], stacks: QuerySet[Stack]) -> Any:
    """Of those dried in the kiln what was read since, or else what they were dried to; NaN of the others."""
    found = np.full(len(rows), np.nan)
    dried: Any = with_last_reading(stacks.exclude(kiln_dried_on=None)).order_by()
    read: dict[int, tuple[datetime | None, float | None]] = {
        pk: (at, pct) for pk, at, pct in dried.values_list("pk", "last_read_at", "last_read_pct")
    }
    for at, (pk, _code, _wood, _mm, kind, dried_on, target, *_rest) in enumerate(rows):
        if dried_on is not None and kind != PlaceKind.KILN:
            read_at, pct = read.get(pk, (None, None))
            found[at] = pct if read_at and pct is not None and day_of(read_at) >= dried_on else target
    return found


def _taken_m3(places: Mapping[int, int]) -> Any:
    """What was kept for a need that is met is free again."""
    found = np.zeros(len(places))
    for stack, volume in Reservation.objects.filter(line__need__met_at=None).values_list("stack_id", "volume_m3"):
        if stack in places:
            found[places[stack]] += volume
    return found
