"""How long would it take: a stack that is not there, by the forecast's own model and what the yard has learned."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from drying.climate import Exposure
from drying.forecast import Forecast, StackInput, Stay, forecast
from yard.models import Place, Species
from yard.outlook.book import UNKNOWN_GREEN_PCT, green_pct, wood
from yard.outlook.climates import MONTHS, climate
from yard.outlook.learning import knowledge
from yard.outlook.tools.answer import Answer, RefusedError

HORIZON_DAYS = 1460
DAY_OF_MONTH = 15
USUAL_MM = (20, 27, 34, 40, 52, 65, 80)


@dataclass(frozen=True, slots=True)
class Asked:
    """Fresh boards of a thickness, and how far down they shall dry."""

    species: Species
    thickness_mm: float
    target_pct: float


def drying_times(
    species: Species,
    place: Place,
    *,
    thicknesses_mm: Sequence[float],
    target_pct: float,
    today: date,
    start_pct: float | None = None,
) -> dict[float, list[Answer]]:
    """For each thickness, by month of stacking (January first): days to the target, as P10, P50, P90.

    A figure is None where it is not within four years; `reachable` is the driest the place gets wood. Notes: never
    (drier than the place allows), late (P50 open), open (P90 open). Stacked on the 15th of the coming such month.
    """
    asked = [Asked(species, thickness, target_pct) for thickness in thicknesses_mm]
    found = drying_times_of(asked, place, today=today, start_pct=start_pct)
    return dict(zip(thicknesses_mm, found, strict=True))


def drying_times_of(
    asked: Sequence[Asked], place: Place, *, today: date, start_pct: float | None = None
) -> list[list[Answer]]:
    """The same for several woods at once, in as many queries as for one."""
    learned = knowledge().learned
    made = [(one, _coming(month, today)) for one in asked for month in MONTHS]
    stacks = []
    for one, day in made:
        shift = learned.of(str(one.species.pk), str(place.pk))
        stack = _stack(one.species, place, one.thickness_mm, day, one.target_pct, start_pct)
        stacks.append(replace(stack, rate_log_shift=shift.log_mean, rate_log_sd=shift.next_log_sd))
    answers = [
        _answer(found, day) for found, (_, day) in zip(forecast(stacks, horizon_days=HORIZON_DAYS), made, strict=True)
    ]
    return [answers[12 * at : 12 * at + 12] for at in range(len(asked))]


def start_of(species: Species, wood_part: str = "mixed") -> float:
    """The moisture (%) at which a fresh stack of this wood is taken to begin."""
    return green_pct(species, wood_part) or UNKNOWN_GREEN_PCT


def _coming(month: int, today: date) -> date:
    return date(today.year + (month < today.month), month, DAY_OF_MONTH)


def _stack(
    species: Species, place: Place, thickness_mm: float, day: date, target_pct: float, start_pct: float | None
) -> StackInput:
    air = climate(place)
    if air is None:
        raise RefusedError("place", "no_climate")
    start = start_of(species) if start_pct is None else start_pct
    if start <= target_pct:
        raise RefusedError("target", "not_wetter", start=start)
    spread = 0.12 if start_pct is not None or green_pct(species, "mixed") is not None else 0.25
    stays = (Stay(day, air, Exposure(place.kind)),)
    return StackInput(
        key="",
        wood=wood(species),
        thickness_mm=thickness_mm,
        start=day,
        initial_moisture_pct=start,
        initial_log_sd=spread,
        stays=stays,
        readings=(),
        target_pct=target_pct,
    )


def _answer(found: Forecast, stacked: date) -> Answer:
    days: dict[str, Any] = {
        name: None if day is None else float((day - stacked).days)
        for name, day in (("p50", found.p50), ("p10", found.p10), ("p90", found.p90))
    }
    note = "never" if found.never else "late" if found.p50 is None else "open" if found.p90 is None else ""
    return Answer({**days, "reachable": found.reachable_pct}, (note,) if note else ())
