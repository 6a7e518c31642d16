"""How much of a line the boards of a stack hold when they are ripped and crosscut to its size: counted, not guessed."""

from functools import lru_cache
from typing import Any

import numpy as np

from drying import wood as relations
from yard.models import MillFigures, NeedLine, Sawn, Species, Stack, Unit
from yard.outlook.columns import Columns


def shrinkage_pct(species: Species, sawn: str, *, across: bool) -> float:
    """To oven-dry, of a board's thickness or its width, by how it is sawn; for a wood whose figures are known."""
    radial, tangential = species.shrinkage_radial_pct or 0.0, species.shrinkage_tangential_pct or 0.0
    if sawn == Sawn.ANY:
        return max(radial, tangential)
    grain: relations.Grain = "flat" if sawn == Sawn.FLAT else "quarter" if sawn == Sawn.QUARTER else "mixed"
    return float(relations.grain_shrinkage_pct(radial, tangential, grain, "width" if across else "thickness"))


def held(stack: Stack, line: NeedLine, figures: MillFigures, across_pct: float) -> float:
    """In the line's unit, from the tally: each board ripped along its whole length into strips of the line's width, and
    those crosscut. With one size wanted no other way of this kind gives more. `across_pct`: shrinkage of the width."""
    if line.unit == Unit.CUBIC_METRES:
        return stack.volume_m3
    left = _left(across_pct, line.need.target_pct)
    lines = stack.lines.all()
    sizes = np.array([(one.length_mm, one.width_mm * left, one.count) for one in lines], float).reshape(-1, 3)
    return float(_of_boards(sizes[:, 0], sizes[:, 1], line, figures) @ sizes[:, 2])


def held_by_all(yard: Columns, line: NeedLine, figures: MillFigures) -> Any:
    """The same of a m³ of each stack of a yard, which is of the line's woods, as the mill saws; 0 of empty ones."""
    if line.unit == Unit.CUBIC_METRES:
        return (yard.volume_m3 > 0).astype(float)
    lefts = {pk: _left(shrinkage_pct(wood, figures.sawn, across=True), line.need.target_pct)
             for pk, wood in yard.woods.items()}  # fmt: skip
    left = np.array([lefts[pk] for pk in yard.species.tolist()])
    tallies = yard.tallies
    each = _of_boards(tallies.length_mm, tallies.width_mm * left[tallies.of], line, figures) * tallies.count
    volume = yard.volume_m3
    return np.divide(tallies.summed(each, len(yard)), volume, out=np.zeros(len(yard)), where=volume > 0)


@lru_cache(1024)
def _left(total_pct: float, moisture_pct: float) -> float:
    """The share of a green size; asked for each stack and line of a list, of few woods and moistures."""
    return float(relations.shrunk_mm(1.0, total_pct, moisture_pct))


def _of_boards(length_mm: Any, dry_mm: Any, line: NeedLine, figures: MillFigures) -> Any:
    """Of each board."""
    usable = np.maximum(length_mm - figures.trim_mm, 0)
    if line.unit == Unit.SQUARE_METRES or not line.width_mm:
        return usable * np.maximum(dry_mm - 2 * figures.planing_mm, 0.0) / 1e6
    strips = np.floor((dry_mm + figures.kerf_mm) / (line.width_mm + 2 * figures.planing_mm + figures.kerf_mm) + 1e-6)
    if line.unit == Unit.METRES:
        return strips * usable / 1000
    return strips * ((usable + figures.kerf_mm) // ((line.length_mm or 1) + figures.kerf_mm))
