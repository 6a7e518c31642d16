"""What stands in the yard, what it is worth and has cost, and how long it has lain; green volumes, as tallied.

A fixed number of queries whatever the yard's size.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef

from yard.models import CostRates, PlaceKind, Price, Reservation, Species, Stack
from yard.models.listed import Forecast
from yard.outlook.costs import CostSoFar, kiln_per_m3

STATES = ("drying", "ready", "kiln", "dry")
"""What is neither ready, in the kiln nor dry is drying."""
AGES_MONTHS = (3, 6, 12, 24)
LONGEST = 6
MONTH_DAYS = 365.25 / 12


@dataclass(frozen=True, slots=True)
class StackFigures:
    """A stack in figures: m³, its state of STATES, since when it dries or is dry, worth and cost (None: not said)."""

    pk: int
    code: str
    species: Species
    thickness_mm: float
    volume_m3: float
    state: str
    since: date
    is_free: bool
    worth: float | None
    cost: float | None

    @property
    def is_dry(self) -> bool:
        return self.state == "dry"


@dataclass(slots=True)
class Holding:
    """Volumes by state, and worth and cost of what is known, with the volumes of which they are not."""

    m3: dict[str, float] = field(default_factory=lambda: dict.fromkeys(STATES, 0.0))
    worth: float = 0.0
    cost: float = 0.0
    no_price_m3: float = 0.0
    no_cost_m3: float = 0.0

    @property
    def volume_m3(self) -> float:
        return sum(self.m3.values())

    @property
    def has_worth(self) -> bool:
        return self.volume_m3 - self.no_price_m3 > 1e-9

    @property
    def has_cost(self) -> bool:
        return self.volume_m3 - self.no_cost_m3 > 1e-9

    def add(self, one: StackFigures) -> None:
        self.m3[one.state] += one.volume_m3
        self.worth += one.worth or 0.0
        self.cost += one.cost or 0.0
        self.no_price_m3 += one.volume_m3 if one.worth is None else 0.0
        self.no_cost_m3 += one.volume_m3 if one.cost is None else 0.0


@dataclass(frozen=True, slots=True)
class Lot:
    """All of one species and thickness."""

    species: Species
    thickness_mm: float
    sum: Holding


@dataclass(frozen=True, slots=True)
class Age:
    """How much has lain from so many months up to so many (None: and longer): on the way, and dry."""

    from_months: int
    to_months: int | None
    drying_m3: float
    dry_m3: float


@dataclass(frozen=True, slots=True)
class Stock:
    """`longest`: dry and free, the longest dry first."""

    lots: tuple[Lot, ...]
    sum: Holding
    ages: tuple[Age, ...]
    longest: tuple[StackFigures, ...]


def stock(on: date) -> Stock:
    """All that stands on a day, the most of it first."""
    rows = _standing(on)
    lots: dict[tuple[int, float], Lot] = {}
    whole = Holding()
    for one in rows:
        key = (one.species.pk, one.thickness_mm)
        lots.setdefault(key, Lot(one.species, one.thickness_mm, Holding())).sum.add(one)
        whole.add(one)
    free = [one for one in rows if one.is_dry and one.is_free]
    return Stock(
        lots=tuple(sorted(lots.values(), key=lambda lot: (-lot.sum.volume_m3, lot.species.name, lot.thickness_mm))),
        sum=whole,
        ages=tuple(_ages(rows, on)),
        longest=tuple(sorted(free, key=lambda one: (one.since, one.code))[:LONGEST]),
    )


READ = (
    "pk", "code", "species_id", "thickness_mm", "green_m3", "place__kind", "kiln_dried_on", "cut_on", "forecast",
    "ready_on", "set_aside_for", "is_reserved", "value_per_m3", "log_per_m3", "sawing_per_m3", "stacking_per_m3",
)  # fmt: skip


def _standing(on: date) -> list[StackFigures]:
    """Plain values, no rows of models: most of a large yard's time went into making those."""
    reserved = Exists(Reservation.objects.filter(stack=OuterRef("pk"), line__need__met_at=None))
    stacks = Stack.objects.standing().with_green_m3().annotate(is_reserved=reserved)
    rows = list(stacks.order_by("code").values_list(*READ, named=True))
    prices = {price.species_id: price for price in Price.objects.all()}
    woods = Species.objects.in_bulk({row.species_id for row in rows})
    rates = CostRates.current()
    kiln = kiln_per_m3([row.pk for row in rows])
    return [_one(row, woods[row.species_id], prices.get(row.species_id), rates, kiln, on) for row in rows]


def _state(row: Any, on: date) -> str:
    """As `state_of` says it, by what a stack's row keeps of its forecast."""
    if row.place__kind == PlaceKind.KILN:
        return "kiln"
    if row.kiln_dried_on:
        return "dry"
    return "ready" if row.forecast == Forecast.DATED and row.ready_on <= on else "drying"


def _one(
    row: Any, species: Species, price: Price | None, rates: CostRates, kiln: Mapping[int, float], on: date
) -> StackFigures:
    volume, state = row.green_m3, _state(row, on)
    worth = _worth(row, price, state)
    cost = CostSoFar.of(row, volume, rates, kiln.get(row.pk))
    return StackFigures(
        pk=row.pk,
        code=row.code,
        species=species,
        thickness_mm=row.thickness_mm,
        volume_m3=volume,
        state=state,
        since=row.kiln_dried_on or row.cut_on,
        is_free=not (row.set_aside_for or row.is_reserved),
        worth=None if worth is None else worth * volume,
        cost=cost.total,
    )


def _worth(row: Any, price: Price | None, state: str) -> float | None:
    """A m³ of it as it stands: a stack's own worth is what it will be when dry."""
    if state == "dry":
        usual = price.dry_per_m3 if price else None
        return usual if row.value_per_m3 is None else row.value_per_m3
    return price.green_per_m3 if price else None


def _ages(rows: Sequence[StackFigures], on: date) -> Iterable[Age]:
    held: dict[tuple[int, bool], float] = defaultdict(float)
    for one in rows:
        months = (on - one.since).days / MONTH_DAYS
        place = sum(months >= bound for bound in AGES_MONTHS)
        held[place, one.is_dry] += one.volume_m3
    bounds = (0, *AGES_MONTHS)
    ends = (*AGES_MONTHS, None)
    for place, (start, end) in enumerate(zip(bounds, ends, strict=True)):
        yield Age(start, end, held[place, False], held[place, True])
