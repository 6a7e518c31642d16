"""The woods a yard meets: published properties and the model's starting points, each figure with its source.

All are starting points that an owner may change; a figure flagged `from_memory` was recalled, not re-read.
A figure that is not at hand is None, and its source says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from drying.tables import rows

Part = Literal["heartwood", "sapwood", "mixed"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where a figure comes from; `from_memory` means recalled, not re-read."""

    text: str
    from_memory: bool


@dataclass(frozen=True, slots=True)
class Species:
    """One wood. % are of oven-dry mass (moisture) or of the green size (total shrinkage, green to oven-dry).

    `permeability` is the free-water factor (1 slow .. 5 fast); `rate` the median overall drying rate of the model and
    `rate_log_sd` the standard deviation of its logarithm before any reading; `safe_rate_pct_per_day` what 25 mm stock
    bears above fibre saturation; the schedule codes are those of the published index for 25 to 38 and 50 mm stock.
    `sources` maps each figure's field name to its Source.
    """

    key: str
    name: str
    latin_name: str
    region: str
    wood_class: Literal["hardwood", "softwood"]
    drying_group: str
    basic_density_kg_m3: float
    green_heartwood_pct: float | None
    green_sapwood_pct: float | None
    shrinkage_radial_pct: float
    shrinkage_tangential_pct: float
    shrinkage_volumetric_pct: float
    permeability: float
    rate: float
    rate_log_sd: float
    safe_rate_pct_per_day: float | None
    schedule_25mm: str | None
    schedule_50mm: str | None
    meter_key: str | None
    note: str
    sources: dict[str, Source] = field(hash=False, repr=False)


def green_pct(species: Species, part: Part = "mixed") -> float | None:
    """Usual green moisture content, %, of heartwood, sapwood or both mixed; None where no figure is at hand.

    Mixed is halfway between the two where both are known, else the one that is known: our choice, measure instead.
    Raises ValueError for any other part.
    """
    heart, sap = species.green_heartwood_pct, species.green_sapwood_pct
    if part == "heartwood":
        return heart
    if part == "sapwood":
        return sap
    if part != "mixed":
        raise ValueError(f"part of the log {part!r} is not one of heartwood, sapwood, mixed")
    known = [value for value in (heart, sap) if value is not None]
    return sum(known) / len(known) if known else None


def _figure(name: str, text: str) -> float | str | None:
    if not text:
        return None
    return text if name.startswith("schedule_") else float(text)


def _load() -> dict[str, Species]:
    figures: dict[str, dict[str, float | str | None]] = {}
    sources: dict[str, dict[str, Source]] = {}
    for row in rows("species_figures"):
        figures.setdefault(row["key"], {})[row["figure"]] = _figure(row["figure"], row["value"])
        source = Source(row["source"], row["from_memory"] == "yes")
        sources.setdefault(row["key"], {})[row["figure"]] = source
    identity = ("key", "name", "latin_name", "region", "wood_class", "drying_group", "note")
    return {
        row["key"]: Species(
            **{name: row[name] for name in identity},  # type: ignore[arg-type]
            **figures[row["key"]],  # type: ignore[arg-type]
            meter_key=row["meter_key"] or None,
            sources=sources[row["key"]],
        )
        for row in rows("species")
    }


SPECIES: Mapping[str, Species] = MappingProxyType(_load())
