"""Species: the packaged table as rows, and a row as the core's wood."""

from dataclasses import asdict
from typing import Any

from drying.diffusion import Wood
from drying.ownschedule import written_code
from drying.species import SPECIES
from yard.models import Species, Stack, WoodPart

UNKNOWN_GREEN_PCT = 80.0  # where neither the stack nor its species says how wet it was: a choice, with a wide spread
_TEXTS = ("latin_name", "region", "schedule_25mm", "schedule_50mm", "meter_key")
_FIELDS = (
    "key",
    "name",
    "latin_name",
    "region",
    "wood_class",
    "drying_group",
    "basic_density_kg_m3",
    "green_heartwood_pct",
    "green_sapwood_pct",
    "shrinkage_radial_pct",
    "shrinkage_tangential_pct",
    "shrinkage_volumetric_pct",
    "permeability",
    "rate",
    "rate_log_sd",
    "safe_rate_pct_per_day",
    "schedule_25mm",
    "schedule_50mm",
    "meter_key",
)


def book_species() -> list[dict[str, Any]]:
    """The packaged species as fields of the Species model, each figure's source under `sources`."""
    return [_fields(entry) for entry in SPECIES.values()]


def _fields(entry: Any) -> dict[str, Any]:
    fields = {name: getattr(entry, name) for name in _FIELDS}
    fields |= {name: fields[name] or "" for name in _TEXTS}
    sources = {name: asdict(source) for name, source in entry.sources.items()}
    if entry.note:
        sources["note"] = {"text": entry.note, "from_memory": False}
    return fields | {"sources": sources}


def schedule_code(text: str) -> str:
    """A kiln schedule's code as the tables spell it, "" for none. ValueError where they have no such code."""
    return written_code(text) if text.strip() else ""


def wood(species: Species) -> Wood:
    """What the drying model needs of a species."""
    return Wood(
        basic_density_kg_m3=species.basic_density_kg_m3,
        permeability=species.permeability,
        rate=species.rate,
        rate_log_sd=species.rate_log_sd,
        wood_class=species.wood_class,
    )


def green_pct(species: Species, wood_part: str) -> float | None:
    """Green moisture (%) of heartwood, of sapwood, or midway for mixed; None when the species gives none.

    Midway for want of the shares of both: a choice. Where only one part is given it stands for the other too.
    """
    heart, sap = species.green_heartwood_pct, species.green_sapwood_pct
    known = [value for value in (heart, sap) if value is not None]
    if not known:
        return None
    if wood_part == WoodPart.HEARTWOOD and heart is not None:
        return heart
    if wood_part == WoodPart.SAPWOOD and sap is not None:
        return sap
    return sum(known) / len(known)


def start_moisture_pct(stack: Stack) -> tuple[float, float]:
    """Moisture (%) when stacked and the spread of its logarithm: as measured, else of the species, else a guess."""
    if stack.initial_moisture_pct is not None:
        return stack.initial_moisture_pct, 0.12
    green = green_pct(stack.species, stack.wood_part)
    return (UNKNOWN_GREEN_PCT, 0.25) if green is None else (green, 0.12)
