"""Readings: what was typed, turned into moisture."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from drying import samples, woodprobes
from drying.meters import CURVES, corrected_pct
from drying.species import SPECIES
from yard.models import Method, Species, Stack
from yard.models.woodname import told
from yard.outlook.climates import usual_temperature_c

ASSUMED_C = 20.0  # what meters are made for; where neither the wood's temperature nor the season's is known


@dataclass(frozen=True, slots=True)
class Corrected:
    """Moisture (%) of each value typed, their mean, and codes of what to say beside them (e.g. above_usable_range)."""

    values_pct: tuple[float, ...]
    mean_pct: float
    notes: tuple[str, ...] = ()


def correct(
    method: str,
    raw: Sequence[Any],
    wood_temperature_c: float | None,
    meter_set_to: str,
    species: Species,
    *,
    oven_dry_g: Sequence[float] = (),
) -> Corrected:
    """Moisture from a visit's raw values.

    Meters: values in %, pins corrected for the wood's temperature (20 °C for None) and, where `meter_set_to` names
    the wood of the meter's scale (see `meter_scales`), for the species. Oven-dry sections: pairs of masses (wet,
    oven-dry), g. Sample boards: masses now, g, with each board's oven-dry mass in `oven_dry_g`. Raises ValueError for
    what no wood can be.
    """
    if method == Method.OVEN_DRY:
        return _mean(sections_moisture_pct(raw))
    if method == Method.SAMPLE_BOARD:
        return _mean(_weighed(raw, oven_dry_g))
    return _metered(method, raw, wood_temperature_c, meter_set_to, species)


def meter_scales() -> list[tuple[str, str]]:
    """The woods a pin meter may be set to for which a curve is at hand: key and name."""
    return sorted(
        ((one.key, told(one.name)) for one in SPECIES.values() if one.meter_key in CURVES), key=lambda one: one[1]
    )


def meter_curves() -> list[tuple[str, str]]:
    """The resistance curves that a species may have for its `meter_key`, with the name to show."""
    return [(key, told(key)) for key in sorted(CURVES)]


def sections_moisture_pct(pairs: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """Moisture (%) of sections from pairs of masses (wet, oven-dry), g. Raises ValueError when wet is the lighter."""
    return tuple(float(samples.moisture_pct(wet, dry)) for wet, dry in pairs)


def oven_dry_mass_g(green_mass_g: float, pairs: Sequence[Sequence[float]]) -> float:
    """Calculated oven-dry mass of a sample board (g) from the sections cut beside it."""
    return float(samples.oven_dry_g(green_mass_g, _mean(sections_moisture_pct(pairs)).mean_pct))


def oven_dry_mass_by_meter_g(green_mass_g: float, values_pct: Sequence[float], stack: Stack, on: date) -> float:
    """The same (g), provisionally, by pin values (%) of a day while the sections are still in the oven."""
    warm_c = usual_temperature_c(stack.place, on)
    moisture = correct(Method.PINS, values_pct, warm_c, "", stack.species).mean_pct
    return float(samples.oven_dry_g(green_mass_g, moisture))


def _weighed(masses_g: Sequence[float], oven_dry_g: Sequence[float]) -> tuple[float, ...]:
    if len(masses_g) != len(oven_dry_g):
        raise ValueError(f"{len(masses_g)} masses for {len(oven_dry_g)} sample boards")
    pairs = zip(masses_g, oven_dry_g, strict=True)
    return tuple(float(samples.current_moisture_pct(mass, dry)) for mass, dry in pairs)


def _metered(
    method: str, raw: Sequence[float], temperature_c: float | None, set_to: str, species: Species
) -> Corrected:
    correction = corrected_pct(
        list(raw),
        ASSUMED_C if temperature_c is None else temperature_c,
        species_key=curve_key(species),
        method=method,
        calibrated_for=set_to if set_to in SPECIES else None,
    )
    return _mean([max(float(value), 0.0) for value in correction.value_pct], correction.note_codes)


def probe_moisture_pct(
    megohm: Sequence[float], wood_temperature_c: Sequence[float], species: Species
) -> list[float | None]:
    """Moisture (%) of each reading of pins that stay in the wood, by this wood's curve and warmth; None where pins tell
    nothing (wetter than about 30 %, or bone dry)."""
    found = woodprobes.resistance_moisture_pct(megohm, wood_temperature_c, curve_key(species))
    return [None if np.isnan(one) else float(one) for one in found]


def has_probe_curve(species: Species) -> bool:
    """Whether this wood has a published resistance curve; else the usual one stands in for it."""
    return curve_key(species) in woodprobes.CURVED


def curve_key(species: Species) -> str | None:
    """The packaged wood whose meter curve this one shares; itself where it is packaged; None for neither."""
    same = (one.key for one in SPECIES.values() if species.meter_key and one.meter_key == species.meter_key)
    return next(same, species.key if species.key in SPECIES else None)


def _mean(values: Sequence[float], notes: tuple[str, ...] = ()) -> Corrected:
    return Corrected(tuple(values), sum(values) / len(values), notes)
