"""What the yard's stacks teach: read off their kept forecasts, pooled by the core, with people's changes.

A stack teaches when it was read twice or more while it dried, and well enough: finished ones, and those that dry still,
as hearing the finished alone would hear the fast ones first. No stack hears of its own readings. Nothing is stored but
what people said: it is computed anew from a fixed number of queries. The parts of a split stack have the same readings,
and so teach once.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from math import log
from typing import Any

import numpy as np
from django.db.models import Exists, OuterRef
from django.utils import timezone

from drying.climate import EFFECTS, Exposure
from drying.learning import FAR, WELL_READ_LOG_SD, Evidence, Learned, Shift, learn, said_by_readings
from yard.models import LearningChange, Place, PlaceKind, Species, Stack, Stay

LEAST_READINGS = 2
MOST = 300  # stacks that are heard, the latest read first: more would cost time and change nothing

_STACK = ("code", "thickness_mm", "used_at", "kiln_dried_on")
_SPECIES = ("species__key", "species__name", "species__rate", "species__rate_log_sd")
_OUTLOOK = tuple(
    f"outlook__{name}"
    for name in (
        "as_of",
        "rate_log_mean",
        "rate_log_sd",
        "prior_log_mean",
        "prior_log_sd",
        "reading_count",
        "dried_at_id",
    )
)


@dataclass(frozen=True, slots=True)
class Told:
    """What one stack says. deviation, sd: of ln rate against the book, by its readings alone.

    change: the last line that left it out or put it back, if any; forgotten: read before a reset that concerns it.
    """

    stack: Stack
    place: Place
    deviation: float
    sd: float
    change: LearningChange | None
    forgotten: bool

    @property
    def readings(self) -> int:
        return self.stack.outlook.reading_count

    @property
    def left_out(self) -> bool:
        return self.change is not None and self.change.kind == LearningChange.Kind.LEFT_OUT

    @property
    def counts(self) -> bool:
        return not self.left_out and not self.forgotten

    @property
    def itself(self) -> Shift:
        """Its own deviation in the form in which what is learned is told."""
        return Shift(self.deviation, self.sd, self.sd, 1)


@dataclass(frozen=True, slots=True)
class Kind:
    """A species in a place, or with None a species over all places, or a place over all species: what is learned of it,
    and the stacks that were heard or might be."""

    species: Species | None
    place: Place | None
    shift: Shift
    told: Sequence[Told]


@dataclass(frozen=True)
class Knowledge:
    """Everything that is known, of one moment. `roots` leads from a split-off part to the stack it came from."""

    told: Sequence[Told]
    roots: dict[int, int]
    changes: Sequence[LearningChange]
    books: dict[str, float]
    exposures: dict[str, Exposure]
    _shifts: dict[tuple[int, int, str], Shift] = field(default_factory=dict)

    @cached_property
    def learned(self) -> Learned:
        return learn([self._evidence(one) for one in self.counting], self.books, self.exposures)

    @cached_property
    def counting(self) -> list[Told]:
        return [one for one in self.told if one.counts]

    @cached_property
    def surprises(self) -> dict[int, float]:
        """By stack, how far it lies from what the others say, in standard deviations."""
        found = self.learned.surprises
        return {one.stack.pk: float(z) for one, z in zip(self.counting, found, strict=True)}

    def is_far(self, stack: Stack) -> bool:
        """Whether a stack lies so far from the others that it counts little, and is asked about."""
        return abs(self.surprises.get(stack.pk, 0.0)) > FAR

    def kinds(self) -> list[Kind]:
        """Each species in each place of which a stack was read enough, those with most evidence first."""
        return self._kinds({(one.stack.species, one.place) for one in self.told})

    def species(self) -> list[Kind]:
        return self._kinds({(one.stack.species, None) for one in self.told})

    def places(self) -> list[Kind]:
        return self._kinds({(None, one.place) for one in self.told})

    def kind(self, species: Species | None = None, place: Place | None = None) -> Kind:
        """One of these; with neither, the whole yard."""
        names = (None if one is None else str(one.pk) for one in (species, place))
        told = [one for one in self.told if species in (None, one.stack.species) and place in (None, one.place)]
        return Kind(species, place, self.learned.of(*names), told)

    def _kinds(self, pairs: set[tuple[Any, Any]]) -> list[Kind]:
        found = [self.kind(*pair) for pair in pairs]
        return sorted(found, key=lambda kind: (-kind.shift.stacks, str(kind.species or ""), str(kind.place or "")))

    def shift(self, stack: Any, until: date) -> Shift | None:
        """For a stack with `all_stays`, what is learned of its wood where it dries, without its own readings."""
        place = where_dried(stack.all_stays, stack.cut_on, until)
        if place is None:
            return None
        root = self._root(stack.pk)
        kind = (stack.species_id, place.pk, root if root in self.learned.position else "")
        if kind not in self._shifts:
            self._shifts[kind] = self.learned.of(str(stack.species_id), str(place.pk), without=[root])
        return self._shifts[kind]

    def count(self, stack: Stack) -> int:
        """How many stacks, without itself, its forecast hears of."""
        return len(self.counting) - (self._root(stack.pk) in self.learned.position)

    def _root(self, pk: int) -> str:
        return str(root_of(pk, self.roots))

    def _evidence(self, told: Told) -> Evidence:
        species, place = str(told.stack.species_id), str(told.place.pk)
        return Evidence(self._root(told.stack.pk), species, place, told.deviation, told.sd)


def knowledge() -> Knowledge:
    """What the yard has learned by now, in a fixed number of queries."""
    changes = list(LearningChange.objects.select_related("by", "stack__species", "species", "place"))
    roots = dict(Stack.objects.filter(split_from__isnull=False).order_by().values_list("pk", "split_from_id"))
    places = Place.objects.exclude(kind=PlaceKind.KILN).in_bulk()
    told = _told(list(_read()), places, changes)
    books = {str(pk): sd for pk, sd in Species.objects.values_list("pk", "rate_log_sd")}
    exposures = {str(pk): Exposure(place.kind) for pk, place in places.items()}
    return Knowledge(_once(told, roots), roots, changes, books, exposures)


def where_dried(stays: Iterable[Stay], start: date, until: date) -> Place | None:
    """The place outdoors in which a stack stood longest between two days; the later of two equals. None: in none."""
    rows = list(stays)
    ends = [*(_day(stay.since) for stay in rows[1:]), until]
    days: dict[Place, int] = {}
    for stay, end in zip(rows, ends, strict=True):
        if not stay.place.is_kiln and max(_day(stay.since), start) <= until:
            spent = (min(end, until) - max(_day(stay.since), start)).days
            days[stay.place] = days.pop(stay.place, 0) + max(spent, 0)
    return max(reversed(days), key=lambda place: days[place], default=None)


def root_of(pk: int, roots: dict[int, int]) -> int:
    while pk in roots:
        pk = roots[pk]
    return pk


def _read() -> Any:
    """Off the forecasts' index, whose order and condition these are; what is joined is asked of each, or SQLite would
    read all stacks for it first."""
    joined = Stack.objects.filter(pk=OuterRef("outlook__stack_id"), joined_into__isnull=False)
    stacks = Stack.objects.filter(~Exists(joined), outlook__reading_count__gte=LEAST_READINGS)
    rows = stacks.select_related("species", "outlook").only(*_STACK, *_SPECIES, *_OUTLOOK)
    return rows.filter(outlook__dried_at__isnull=False).order_by("-outlook__as_of", "outlook__stack_id")[:MOST]


def _told(stacks: Sequence[Stack], places: dict[int, Place], changes: Sequence[LearningChange]) -> list[Told]:
    """Those whose readings say enough."""
    books = np.array([log(stack.species.rate) for stack in stacks])
    rows = [_posterior(stack, book, places) for stack, book in zip(stacks, books, strict=True)]
    means, sds = said_by_readings(*np.array(rows, float).reshape(-1, 4).T)
    found = []
    for stack, deviation, sd in zip(stacks, (means - books).tolist(), sds.tolist(), strict=True):
        if 0.001 < sd <= WELL_READ_LOG_SD and abs(deviation) <= 5:
            place = places[stack.outlook.dried_at_id or 0]
            change = next((one for one in changes if one.stack_id == stack.pk), None)
            forgotten = any(_concerns(one, stack, place) and stack.outlook.as_of <= _day(one.at) for one in changes)
            found.append(Told(stack, place, deviation, sd, change, forgotten))
    return found


def _posterior(stack: Stack, book: float, places: dict[int, Place]) -> tuple[float, float, float, float]:
    """Mean and sd of ln rate after its readings, and before any: the book's, in rows older than the learning."""
    row = stack.outlook
    if row.prior_log_mean is not None and row.prior_log_sd is not None:
        return row.rate_log_mean, row.rate_log_sd, row.prior_log_mean, row.prior_log_sd
    exposure = EFFECTS[Exposure(places[row.dried_at_id or 0].kind)].rate_log_sd
    return row.rate_log_mean, row.rate_log_sd, book, float(np.hypot(stack.species.rate_log_sd, exposure))


def _concerns(change: LearningChange, stack: Stack, place: Place) -> bool:
    if change.kind != LearningChange.Kind.RESET:
        return False
    return change.species_id in (None, stack.species_id) and change.place_id in (None, place.pk)


def _once(told: Sequence[Told], roots: dict[int, int]) -> list[Told]:
    """Of the parts of one stack the one read most often."""
    best: dict[int, Told] = {}
    for one in told:
        root = root_of(one.stack.pk, roots)
        if root not in best or one.readings > best[root].readings:
            best[root] = one
    return list(best.values())


def _day(moment: datetime) -> date:
    return timezone.localtime(moment).date()
