"""Moisture of wood: a meter's reading corrected, an oven-dry test, a weighed sample board."""

from drying import meters, samples
from yard.models import Species
from yard.outlook.corrections import curve_key
from yard.outlook.tools.answer import Answer, RefusedError


def meter(
    indicated_pct: float, wood_c: float, species: Species, set_to: str = "", *, calibrated_c: float = 20.0
) -> Answer:
    """A pin meter's reading corrected for the wood's temperature and, where both curves are at hand, the species."""
    found = meters.corrected_pct(
        indicated_pct, wood_c, curve_key(species), "pins", set_to or None, calibration_temperature_c=calibrated_c
    )
    return Answer(
        {
            "value": max(float(found.value_pct), 0.0),
            "temperature_part": float(found.temperature_part_pct),
            "species_part": float(found.species_part_pct),
            "low": float(found.low_pct),
            "high": float(found.high_pct),
        },
        found.note_codes,
    )


def oven_dry(wet_g: float, dry_g: float) -> Answer:
    """Moisture by the oven-dry test, and the water's share of the whole."""
    moisture = _moisture(wet_g, dry_g, "dry")
    return Answer({"mc": moisture, "water": wet_g - dry_g, "wet_basis": float(samples.wet_basis_pct(moisture))})


def sample_board(green_g: float, sections_pct: float, now_g: float, *, target_pct: float | None = None) -> Answer:
    """A weighed sample board's moisture now, from its green mass and its sections' moisture."""
    dry_g = float(samples.oven_dry_g(green_g, sections_pct))
    moisture = _moisture(now_g, dry_g, "now")
    at_target = None if target_pct is None else dry_g * (1 + target_pct / 100)
    return Answer({"mc": moisture, "dry": dry_g, "target_mass": at_target})


def _moisture(wet_g: float, dry_g: float, field: str) -> float:
    if wet_g < dry_g:
        raise RefusedError(field, "lighter", wet=wet_g, dry=dry_g)
    if (wet_g / dry_g - 1) * 100 > samples.WETTEST_PCT:
        raise RefusedError(field, "too_wet", mc=(wet_g / dry_g - 1) * 100)
    return float(samples.moisture_pct(wet_g, dry_g))
