"""The planner's answer in rows' terms: dates for day numbers, kilns' keys for codes, drawings as plain data."""

from dataclasses import asdict, dataclass, field
from datetime import date, datetime
from typing import Any

from drying.layout import Layout, PackLayout


@dataclass(frozen=True, slots=True)
class DraftCharge:
    """One proposed charge. `shares`: (stack code, share, volume_m3, pieces as (length_mm, width_mm, count))."""

    kiln: int
    start_on: date
    days: int
    days_low: int
    days_high: int
    group: str
    target_pct: float
    volume_m3: float
    fill: float
    fill_bound: float
    of_attainable: float
    energy_kwh: float
    water_kg: float
    cost: float
    layout: dict[str, Any]
    shares: tuple[tuple[str, float, float, list[list[int]]], ...]
    extra: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class DraftReason:
    code: str
    why: str
    figures: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Draft:
    """A whole answer; `value` and `bound` in the owner's money."""

    first_day: date
    horizon_days: int
    careful: bool
    charges: tuple[DraftCharge, ...]
    reasons: tuple[DraftReason, ...]
    value: float
    bound: float
    seconds: float
    cut_by_clock: bool
    notes: dict[str, Any] = field(default_factory=dict)
    read_at: datetime | None = None
    basis: dict[str, Any] = field(default_factory=dict)


def drawn(layout: Layout | PackLayout) -> dict[str, Any]:
    """A layout as plain data: kind "hand" or "pack", the space, what lies where, layers, baffles."""
    by_hand = isinstance(layout, Layout)
    data = asdict(layout)
    kept = ("space", "placed", "layers", "baffles", "layers_bound", "tiers", "rests", "samples", "mass_kg")
    plain = {name: data[name] for name in kept if name in data}
    return {"kind": "hand" if by_hand else "pack", **plain}
