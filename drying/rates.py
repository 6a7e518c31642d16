"""Each wood's drying rate, fitted anew to published air-drying times: what `manage.py refit` writes into the table.

A published row gives the fewest and the most days from green to 20 % of 25 mm lumber: few when stacked in spring or in
the south, many when stacked in autumn or in the north. We dry 27 mm (a rough inch) in Memphis and in Madison, stacked
on the first of each month; the rate is the one whose middle stacking of the 24 takes the geometric middle of the row,
times WELL_KEPT. A wood with days by month of stacking (in Madison) is fitted to their mean as it is. A wood without
figures takes its relative's rate, with a wider spread.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import cast

import numpy as np

from drying.climate import Climate, Exposure
from drying.forecast import StackInput, Stay, Wood, simulate_all
from drying.ranges import FloatArray
from drying.species import SPECIES, Part, Source, Species, green_pct
from drying.tables import rows
from drying.wood import humidity_for_moisture_pct

WELL_KEPT = 1.4  # small stacks on stickers against the table's wide old piles: two anchors show 1.4 to 1.8 (choice)
FITTED_LOG_SD, RELATIVE_LOG_SD = 0.45, 0.6  # choices
ROUGH_INCH_MM, TARGET_PCT, FOLLOWED_DAYS, USUAL_GREEN_PCT = 27.0, 20.0, 450, 80.0
SOUTH, NORTH = "Memphis TN", "Madison WI"
FIRST_RATE, ROUNDS = 0.25, 10


@dataclass(frozen=True, slots=True)
class FittedRate:
    """A wood's median rate (two decimals), the spread of its logarithm, and where they come from."""

    rate: float
    rate_log_sd: float
    source: Source


@dataclass(frozen=True, slots=True)
class _Aim:
    """A wood as green as its row means, stackings of it (place, month), and the days that the middle one should take;
    of days by month, their geometric mean."""

    species: Species
    green_pct: float
    stackings: tuple[tuple[str, int], ...]
    days: float
    factor: float
    by_month: bool = False

    def middle(self, days: Sequence[float]) -> float:
        """Of the days of its stackings."""
        return float(np.exp(np.mean(np.log(days))) if self.by_month else np.median(days))


def outdoor_climate(place: str) -> Climate:
    """Published monthly equilibrium moisture (%) and usual temperatures (°C; recalled, see the table), SOUTH or NORTH.

    KeyError for another place.
    """
    months = [row for row in rows("outdoor_climates") if row["place"] == place]
    if not months:
        raise KeyError(place)
    temperature = tuple(float(row["mean_temp_C"]) for row in months)
    humidity = humidity_for_moisture_pct(temperature, [float(row["emc_percent"]) for row in months])
    return Climate(temperature, tuple(humidity.tolist()))


def refitted() -> dict[str, FittedRate]:
    """By species key, all of them: rate and spread, factors with no unit. Takes some seconds.

    KeyError where the basis names a wood that `drying.species.SPECIES` lacks. Source of the method: drying method
    section 6; of each row: in the answer.
    """
    basis = {row["key"]: row for row in rows("rate_basis")}
    aims = [_aim(SPECIES[key], row) for key, row in basis.items() if not row["relative"]]
    fitted = _fit(aims)
    found = {}
    for key, row in basis.items():
        relative = row["relative"]
        spread = RELATIVE_LOG_SD if relative else FITTED_LOG_SD
        source = Source(_told(row), row["from_memory"] == "yes")
        found[key] = FittedRate(round(fitted[relative or key], 2), spread, source)
    return found


def _told(row: Mapping[str, str]) -> str:
    if row["relative"]:
        return f"by analogy with {SPECIES[row['relative']].name}, our choice; that one fitted by `manage.py refit`"
    times = f"{WELL_KEPT:g} times the rate" if row["days_min"] else "the rate"
    return f"{times} fitted by `manage.py refit` to {row['source']}"


def _aim(species: Species, row: Mapping[str, str]) -> _Aim:
    green = green_pct(species, cast(Part, row["part"])) or USUAL_GREEN_PCT
    if row["days_by_month"]:
        pairs = [pair.split(":") for pair in row["days_by_month"].split()]
        stackings = tuple((NORTH, int(month)) for month, _ in pairs)
        mean = float(np.exp(np.mean([np.log(float(days)) for _, days in pairs])))
        return _Aim(species, green, stackings, mean, 1.0, by_month=True)
    stackings = tuple((place, month) for place in (SOUTH, NORTH) for month in range(1, 13))
    return _Aim(species, green, stackings, float(np.sqrt(float(row["days_min"]) * float(row["days_max"]))), WELL_KEPT)


def _fit(aims: Sequence[_Aim]) -> dict[str, float]:
    """Time goes nearly as one over the rate: a few rounds of the rule of three find it."""
    rate = np.full(len(aims), FIRST_RATE)
    for _ in range(ROUNDS):
        rate = rate * (_middle_days(aims, rate) / [aim.days for aim in aims])
    return {aim.species.key: float(value * aim.factor) for aim, value in zip(aims, rate, strict=True)}


def _middle_days(aims: Sequence[_Aim], rate: FloatArray) -> FloatArray:
    places = {place: outdoor_climate(place) for place in (SOUTH, NORTH)}
    stacks = [
        _stack(aim, float(value), places[place], month)
        for aim, value in zip(aims, rate, strict=True)
        for place, month in aim.stackings
    ]
    reached = [course.day_reaching(TARGET_PCT) for course in simulate_all(stacks, days=FOLLOWED_DAYS)]
    days = iter([FOLLOWED_DAYS if day is None else day for day in reached])
    return np.array([aim.middle([next(days) for _ in aim.stackings]) for aim in aims])


def _stack(aim: _Aim, rate: float, climate: Climate, month: int) -> StackInput:
    wood = Wood(aim.species.basic_density_kg_m3, aim.species.permeability, rate, FITTED_LOG_SD)
    begin = date(2021, month, 1)
    stay = Stay(begin, climate, Exposure.OPEN_YARD)
    return StackInput("", wood, ROUGH_INCH_MM, begin, aim.green_pct, 0.0, (stay,), (), TARGET_PCT)
