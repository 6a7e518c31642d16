"""By when to saw what is missing for a charge: green wood has to dry outdoors first, as long as its kind takes."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from yard import outlook
from yard.models import Stack

Key = tuple[int, int, float, float]


@dataclass(slots=True)
class Sawing:
    """Days that green wood takes to where the kiln takes it, by the forecast's own model; asked once for each kind."""

    today: date
    known: dict[Key, list[float | None]] = field(default_factory=dict)

    def told(self, stacks: Iterable[Stack], by: date) -> dict[str, Any]:
        """What to saw to have more of the wood of these stacks by that day, or when it would be ready at best.

        `saw_by` None: too late already; `ready_on` None: its place does not dry it so far. Empty without a climate.
        """
        like = max(stacks, key=lambda one: (one.volume_m3, one.code), default=None)
        months = self._months(like) if like else None
        if like is None or months is None:
            return {}
        return {
            "species": like.species.kept_name,
            "thickness_mm": like.thickness_mm,
            "saw_by": _iso(self._latest(months, by)),
            "ready_on": _iso(_ready(self.today, months)),
        }

    def _months(self, like: Stack) -> list[float | None] | None:
        key = (like.species_id, like.place_id, like.thickness_mm, like.kiln_entry_pct)
        if key not in self.known:
            try:
                found = outlook.tools.drying_times(
                    like.species,
                    like.place,
                    thicknesses_mm=[like.thickness_mm],
                    target_pct=like.kiln_entry_pct,
                    today=self.today,
                )
            except outlook.tools.RefusedError:
                return None
            self.known[key] = [answer.figures["p50"] for answer in found[like.thickness_mm]]
        return self.known[key]

    def _latest(self, months: list[float | None], by: date) -> date | None:
        """The last day from today on which wood can be sawn and still be ready by then."""
        days = (self.today + timedelta(days=ahead) for ahead in range((by - self.today).days, -1, -1))
        return next((day for day in days if (ready := _ready(day, months)) and ready <= by), None)


def _ready(sawn: date, months: list[float | None]) -> date | None:
    """When wood sawn that day is ready, in the median, between what the middles of the months around it take."""
    days = _between(sawn, months)
    return None if days is None else sawn + timedelta(days=round(days))


def _between(sawn: date, months: list[float | None]) -> float | None:
    month, part = sawn.month - 1, (sawn.day - 15) / 30
    this, other = months[month], months[(month + (1 if part >= 0 else -1)) % 12]
    if this is None or other is None:
        return this
    return this + abs(part) * (other - this)


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
