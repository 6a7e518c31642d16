"""How dry wood shall be, by what it is for."""

from drying import uses

ROOM_C, ROOM_HUMIDITY_PCT = (5, 35), (15, 90)
"""Rooms that people use: from and to."""


def usual_target_pct(use: str) -> float | None:
    """The handbook's moisture for a use, %; None for one that has none."""
    return uses.usual_target_pct(use).target_pct if use in uses.AIMS else None


def room_moisture_pct(room_c: float | None, room_humidity_pct: float | None) -> float | None:
    """What wood comes to in the air of a room, % to a tenth; None where the air is not known."""
    if room_c is None or room_humidity_pct is None:
        return None
    return round(uses.room_target_pct(room_c, room_humidity_pct), 1)
