"""Readings: what was typed, turned into moisture."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from yard.models import Method, Species


@dataclass(frozen=True, slots=True)
class Corrected:
    """Moisture (%) of each value typed, their mean, and codes of what to say beside them (e.g. above the range)."""

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

    Meters: values in %, corrected for wood temperature (20 °C assumed where it was not taken) and species.
    Oven-dry sections: pairs of masses (wet, oven-dry), g. Sample boards: masses now, g, with each board's oven-dry
    mass in `oven_dry_g`. Raises ValueError for what no wood can be.
    """
    if method == Method.OVEN_DRY:
        return _mean(sections_moisture_pct(raw))
    if method == Method.SAMPLE_BOARD:
        return _mean(_weighed(raw, oven_dry_g))
    return _metered(method, raw, wood_temperature_c, meter_set_to, species)


def sections_moisture_pct(pairs: Sequence[Sequence[float]]) -> tuple[float, ...]:
    """Moisture (%) of sections from pairs of masses (wet, oven-dry), g."""
    from drying.samples import moisture_pct

    return tuple(float(moisture_pct(wet, dry)) for wet, dry in pairs)


def oven_dry_mass_g(green_mass_g: float, pairs: Sequence[Sequence[float]]) -> float:
    """Calculated oven-dry mass of a sample board (g) from the sections cut beside it."""
    from drying.samples import oven_dry_g

    moisture = _mean(sections_moisture_pct(pairs)).mean_pct
    return float(oven_dry_g(green_mass_g, moisture))


def _weighed(masses_g: Sequence[float], oven_dry_g: Sequence[float]) -> tuple[float, ...]:
    from drying.samples import current_moisture_pct

    if len(masses_g) != len(oven_dry_g):
        raise ValueError(f"{len(masses_g)} masses for {len(oven_dry_g)} sample boards")
    pairs = zip(masses_g, oven_dry_g, strict=True)
    return tuple(float(current_moisture_pct(mass, dry)) for mass, dry in pairs)


def _metered(
    method: str, raw: Sequence[float], temperature_c: float | None, set_to: str, species: Species
) -> Corrected:
    from drying.meters import corrected_pct

    correction = corrected_pct(
        list(raw),
        20.0 if temperature_c is None else temperature_c,
        species_key=species.meter_key or None,
        method=method,
        calibrated_for=set_to or None,
    )
    notes = list(correction.note_codes) + ([] if temperature_c is not None else ["temperature_assumed"])
    return _mean([float(value) for value in correction.value_pct], tuple(notes))


def _mean(values: Sequence[float], notes: tuple[str, ...] = ()) -> Corrected:
    return Corrected(tuple(values), sum(values) / len(values), notes)
