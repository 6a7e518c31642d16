"""Sizes and masses: what to saw, what comes of it, and what it weighs."""

from drying import wood as relations
from yard.models import Species, sourcewords
from yard.outlook.tools.answer import Answer, RefusedError

HEAVY_KG = 25.0  # what one person should not lift alone: common practice, no source


def sawing(
    finished_mm: float,
    species: Species,
    moisture_pct: float,
    *,
    grain: relations.Grain = "mixed",
    dimension: relations.Dimension = "thickness",
    planing_mm: float = 0.0,
    deviation_mm: float = 0.0,
) -> Answer:
    """The green size to saw for a finished one."""
    total = _total(species, grain, dimension)
    size = float(relations.sawing_size_mm(finished_mm, total, moisture_pct, planing_mm, deviation_mm))
    return _sized(species, size, finished_mm + 2 * planing_mm, total, moisture_pct)


def finished(
    sawn_mm: float,
    species: Species,
    moisture_pct: float,
    *,
    grain: relations.Grain = "mixed",
    dimension: relations.Dimension = "thickness",
    planing_mm: float = 0.0,
    deviation_mm: float = 0.0,
) -> Answer:
    """The finished size that a sawn one yields for sure."""
    total = _total(species, grain, dimension)
    if sawn_mm < deviation_mm:
        raise RefusedError("sawn", "too_small", lacking=deviation_mm - sawn_mm)
    dry = float(relations.shrunk_mm(sawn_mm - deviation_mm, total, moisture_pct))
    if dry < 2 * planing_mm:
        raise RefusedError("sawn", "too_small", lacking=2 * planing_mm - dry)
    size = float(relations.finished_size_mm(sawn_mm, total, moisture_pct, planing_mm, deviation_mm))
    return _sized(species, size, dry, total, moisture_pct)


def mass(
    species: Species,
    moisture_pct: float,
    *,
    thickness_mm: float,
    width_mm: float,
    length_m: float,
    count: float = 1,
    to_pct: float | None = None,
) -> Answer:
    """Mass and water of boards of one green size."""
    volume, density = thickness_mm * width_mm * length_m * count / 1e6, species.basic_density_kg_m3
    whole = float(relations.mass_kg(volume, density, moisture_pct))
    lost = None if to_pct is None else float(relations.water_kg(volume, density, moisture_pct, to_pct))
    figures: dict[str, float | None] = {
        "mass": whole,
        "each": whole / count,
        "volume": volume,
        "dry": volume * density,
        "water": whole - volume * density,
        "lost": lost,
        "then": None if lost is None else whole - lost,
    }
    notes = ("heavy",) if whole / count > HEAVY_KG else ()
    return Answer(figures, notes + _recalled(species, "basic_density_kg_m3"), _sources(species, "basic_density_kg_m3"))


def _total(species: Species, grain: relations.Grain, dimension: relations.Dimension) -> float:
    radial, tangential = species.shrinkage_radial_pct, species.shrinkage_tangential_pct
    if radial is None or tangential is None:
        raise RefusedError("wood", "no_shrinkage")
    return float(relations.grain_shrinkage_pct(radial, tangential, grain, dimension))


SHRINKAGES = ("shrinkage_radial_pct", "shrinkage_tangential_pct")


def _sized(species: Species, size_mm: float, dry_mm: float, total_pct: float, moisture_pct: float) -> Answer:
    shrinkage = 100 - float(relations.shrunk_mm(100, total_pct, moisture_pct))
    figures: dict[str, float | None] = {"size": size_mm, "dry": dry_mm, "shrinkage": shrinkage, "total": total_pct}
    return Answer(figures, _recalled(species, *SHRINKAGES), _sources(species, *SHRINKAGES))


def is_recalled(species: Species, *names: str) -> bool:
    """Whether any of these figures was recalled rather than read."""
    return any(species.sources.get(name, {}).get("from_memory") for name in names)


def _recalled(species: Species, *names: str) -> tuple[str, ...]:
    return ("recalled",) if is_recalled(species, *names) else ()


def _sources(species: Species, *names: str) -> tuple[tuple[tuple[sourcewords.Part, ...], bool], ...]:
    found = (species.sources.get(name) for name in names)
    return tuple(
        dict.fromkeys((tuple(sourcewords.told(one["text"])), bool(one.get("from_memory"))) for one in found if one)
    )
