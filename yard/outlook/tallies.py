"""A tally in figures: volume, layers, mass, water, and the size when dry."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from drying import tally
from drying import wood as relations
from yard.models import Species, Stack
from yard.outlook.book import UNKNOWN_GREEN_PCT, green_pct

STACK_WIDTH_MM = 1200  # of a stack whose pack was not measured: common practice, no source
Lines = Sequence[tuple[int, int, int]]
"""Of boards: length in mm, width in mm, count."""


@dataclass(frozen=True, slots=True)
class TallyFigures:
    """Green volume, board feet, boards, layers of a stack of that width, mass at a moisture, water to lose from it."""

    volume_m3: float
    board_feet: float
    boards: int
    layers: int
    height_mm: float
    moisture_pct: float
    mass_kg: float
    water_kg: float | None


@dataclass(frozen=True, slots=True)
class DrySize:
    """Thickness at a moisture: flat-sawn boards shrink radially, quarter-sawn ones tangentially (and so more)."""

    moisture_pct: float
    flat_sawn_mm: float
    quarter_sawn_mm: float


def tally_figures(
    species: Species,
    thickness_mm: float,
    wood_part: str,
    lines: Lines,
    sticker_mm: float,
    moisture_pct: float | None = None,
    *,
    to_pct: float | None = None,
    stack_width_mm: int | None = None,
    stack_length_mm: int | None = None,
) -> TallyFigures:
    """What boards of this tally make. Without `moisture_pct` they are taken as green, as the species gives it.

    `water_kg` is what leaves between that and `to_pct`; None without it. Without a stack's size: 1.2 m wide, as long as
    its longest board. Raises ValueError for sizes that no board has.
    """
    rows = [tally.Line(length_mm, width_mm, count) for length_mm, width_mm, count in lines]
    volume_m3 = float(tally.volume_m3(rows, thickness_mm))
    now = moisture_pct if moisture_pct is not None else (green_pct(species, wood_part) or UNKNOWN_GREEN_PCT)
    layers = _layers(rows, stack_width_mm, stack_length_mm)
    density = species.basic_density_kg_m3
    water = None if to_pct is None else float(relations.water_kg(volume_m3, density, now, to_pct))
    return TallyFigures(
        volume_m3=volume_m3,
        board_feet=float(tally.board_feet(volume_m3)),
        boards=sum(row.count for row in rows),
        layers=layers,
        height_mm=layers * (thickness_mm + sticker_mm) - sticker_mm if layers else 0.0,
        moisture_pct=now,
        mass_kg=float(relations.mass_kg(volume_m3, density, now)),
        water_kg=water,
    )


def _layers(rows: Sequence[tally.Line], width_mm: int | None, length_mm: int | None) -> int:
    """An estimate. A stack is at least as long and wide as its largest board, whatever was typed."""
    if not rows:
        return 0
    longest, widest = max(row.length_mm for row in rows), max(row.width_mm for row in rows)
    return tally.layer_count(rows, max(width_mm or STACK_WIDTH_MM, widest), max(length_mm or 0, longest))


def dry_size(stack: Stack, moisture_pct: float | None = None) -> DrySize | None:
    """The boards' thickness at a moisture, the stack's target if unsaid; None where the species gives no shrinkage."""
    radial, tangential = stack.species.shrinkage_radial_pct, stack.species.shrinkage_tangential_pct
    if radial is None or tangential is None:
        return None
    at = stack.target_pct if moisture_pct is None else moisture_pct
    return DrySize(at, _shrunk_mm(stack.thickness_mm, radial, at), _shrunk_mm(stack.thickness_mm, tangential, at))


@lru_cache(4096)
def _shrunk_mm(green_mm: float, total_pct: float, moisture_pct: float) -> float:
    """Asked for each stack and line of a list, of few woods, thicknesses and moistures."""
    return float(relations.shrunk_mm(green_mm, total_pct, moisture_pct))


def parse_widths(text: str) -> list[tuple[int, int]]:
    """Random widths as typed ("150 160 2x175") to (width in mm, count); ValueError names the word that is none."""
    return list(tally.parse_widths(text))


def spread_lines(count: int, shortest_mm: int, longest_mm: int, mean_width_mm: int) -> list[tuple[int, int, int]]:
    """About so many boards between two lengths, as tally lines (length, width, count)."""
    lines = tally.spread_lines(count, shortest_mm, longest_mm, mean_width_mm)
    return [(line.length_mm, line.width_mm, line.count) for line in lines]
