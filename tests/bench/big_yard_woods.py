"""What a big invented yard's stacks are like: its places, woods and sizes, and a forecast of each wood by month."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from yard import outlook
from yard.actions.species import load_species
from yard.models import Outlook, Place, Species, Stack, Stay, TallyLine

PLACE_KINDS = ("roofed_shed", "open_yard", "closed_store")
SIZES = ((4000, 150), (3000, 120), (5000, 200), (2500, 180))
THICKNESSES = (27.0, 40.0, 52.0)
WOODS, MONTHS, KILNS = 5, 12, 2
TEMPERATURES_C = [0, 1, 5, 9, 14, 17, 19, 18, 14, 9, 4, 1]
HUMIDITIES_PCT = [86, 82, 77, 71, 70, 71, 71, 73, 78, 83, 87, 88]


@dataclass(frozen=True)
class Wood:
    """A species of a thickness, sawn on a day in the last year, and how the core forecasts it."""

    species: int
    thickness_mm: float
    cut_on: date
    outlook: Outlook

    @property
    def ready_p50(self) -> date | None:
        return self.outlook.ready_p50


def make_places(stacks: int) -> tuple[list[int], int]:
    """Keys of those outdoors, more of them where there are more stacks, and a kiln's."""
    air = {"temperatures_c": TEMPERATURES_C, "humidities_pct": HUMIDITIES_PCT}
    count = len(PLACE_KINDS) + stacks // 2000
    rows = [Place(name=f"Invented row {n + 1}", kind=PLACE_KINDS[n % len(PLACE_KINDS)], **air) for n in range(count)]
    kiln = Place.objects.create(name="Invented chamber", kind="kiln")
    return [one.pk for one in Place.objects.bulk_create(rows)], kiln.pk


def make_species() -> list[Species]:
    load_species()
    known = Species.objects.exclude(shrinkage_radial_pct=None).exclude(shrinkage_tangential_pct=None)
    return list(known.order_by("key")[:WOODS])


def make_woods(species: list[Species], places: list[int], today: date) -> list[Wood]:
    """Forecast by the core, from stacks that are taken away again."""
    asked = [
        Stack(code=f"W{n}", species=one, place_id=places[n % len(places)], thickness_mm=thickness, cut_on=cut_on)
        for n, (one, thickness, cut_on) in enumerate(
            (one, thickness, today - timedelta(days=15 + 30 * month))
            for one in species
            for thickness in THICKNESSES
            for month in range(MONTHS)
        )
    ]
    stacks = Stack.objects.bulk_create(asked)
    since = {one.pk: datetime.combine(one.cut_on, time(9), tzinfo=UTC) for one in stacks}
    Stay.objects.bulk_create(Stay(stack=one, place_id=one.place_id, since=since[one.pk]) for one in stacks)
    TallyLine.objects.bulk_create(TallyLine(stack=one, length_mm=4000, width_mm=150, count=40) for one in stacks)
    outlook.refresh(stacks)
    kept = {one.stack_id: one for one in Outlook.objects.all()}
    found = [Wood(one.species_id, one.thickness_mm, one.cut_on, kept[one.pk]) for one in stacks]
    Stack.objects.filter(pk__in=kept).delete()
    return found
