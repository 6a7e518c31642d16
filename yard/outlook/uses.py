"""How dry wood shall be, by what it is for."""

from drying import uses


def usual_target_pct(use: str) -> float | None:
    """The handbook's moisture for a use, %; None for one that has none."""
    return uses.usual_target_pct(use).target_pct if use in uses.AIMS else None
