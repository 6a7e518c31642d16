"""What left the yard and as what, and what became of the logs: from round wood to dry boards."""

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

import numpy as np
from django.db.models import Count, Sum
from django.utils import timezone

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
    used = Stack.objects.filter(used_at__gte=_morning(first)).with_green_m3()
    sums = {"stacks": Count("pk"), "m3": Sum("green_m3"), "sold": Sum("sold_for", default=0.0)}
    rows = used.order_by().values("left_as").annotate(**sums).values_list("left_as", *sums)
    return sorted((Left(*row) for row in rows), key=lambda one: -one.volume_m3)


def _morning(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def log_yield(first: date) -> LogYield | None:
    """Of what was kiln-dried from a day on; None where no log is known. One query."""
    dried: Any = Stack.objects.filter(kiln_dried_on__gte=first, joined_into=None).with_green_m3()
    rows = list(dried.values_list("green_m3", "round_m3_per_m3", "species__shrinkage_volumetric_pct", "target_pct",
                                  "left_as"))  # fmt: skip
    told = [row for row in rows if row[1] and row[2] is not None]
    if not told:
        return None
    green, round_share, shrinkage, target, _left = zip(*told, strict=True)
    dry = _dry_m3(np.array(green), np.array(shrinkage), np.array(target))
    sound = np.array([row[4] not in WASTED for row in told])
    return LogYield(
        round_m3=float(np.dot(green, round_share)),
        sawn_m3=sum(green),
        dry_m3=float(dry.sum()),
        sound_m3=float(dry[sound].sum()),
        unknown_m3=sum(row[0] for row in rows if not row[1] or row[2] is None),
    )


def _dry_m3(green_m3: Any, shrinkage_pct: Any, target_pct: Any) -> Any:
    return np.array(dried_m3(green_m3, shrinkage_pct, target_pct), dtype=float)
