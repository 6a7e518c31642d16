"""What left the yard and as what, and what became of the logs: from round wood to dry boards."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from drying.wood import dried_m3
from yard.models import WASTED, Stack


@dataclass(frozen=True, slots=True)
class Left:
    """How much left as one thing (empty: nobody said): stacks, green m³, and what it was sold for."""

    as_what: str
    stacks: int
    volume_m3: float
    sold_for: float


@dataclass(frozen=True, slots=True)
class LogYield:
    """Of kiln-dried stacks whose logs are known, m³: round wood, sawn green, that volume dry, and of it what did not
    end as firewood or lost. `unknown_m3`: sawn wood, dried likewise, of which nobody told the logs or the shrinkage."""

    round_m3: float
    sawn_m3: float
    dry_m3: float
    sound_m3: float
    unknown_m3: float

    @property
    def sawn_share(self) -> float:
        return self.sawn_m3 / self.round_m3

    @property
    def dry_share(self) -> float:
        return self.dry_m3 / self.round_m3

    @property
    def sound_share(self) -> float:
        return self.sound_m3 / self.round_m3


def left_since(first: date) -> list[Left]:
    """What was marked as used from a day on, the most of it first. One query."""
    held: dict[str, list[Any]] = {}
    for row in _rows(Stack.objects.filter(used_at__date__gte=first)):
        held.setdefault(row.left_as, []).append(row)
    found = [
        Left(name, len(rows), sum(row.green_m3 for row in rows), sum(row.sold_for or 0.0 for row in rows))
        for name, rows in held.items()
    ]
    return sorted(found, key=lambda one: -one.volume_m3)


def log_yield(first: date) -> LogYield | None:
    """Of what was kiln-dried from a day on; None where no log is known. One query."""
    rows = list(_rows(Stack.objects.filter(kiln_dried_on__gte=first, joined_into=None)))
    told = [row for row in rows if row.round_m3_per_m3 and row.species.shrinkage_volumetric_pct is not None]
    if not told:
        return None
    dry = {row.pk: _dry_m3(row) for row in told}
    return LogYield(
        round_m3=sum(row.green_m3 * (row.round_m3_per_m3 or 0.0) for row in told),
        sawn_m3=sum(row.green_m3 for row in told),
        dry_m3=sum(dry.values()),
        sound_m3=sum(dry[row.pk] for row in told if row.left_as not in WASTED),
        unknown_m3=sum(row.green_m3 for row in rows if row.pk not in dry),
    )


def _dry_m3(row: Any) -> float:
    return float(dried_m3(row.green_m3, row.species.shrinkage_volumetric_pct or 0.0, row.target_pct))


def _rows(stacks: Any) -> Iterable[Any]:
    return stacks.select_related("species").with_green_m3()
