"""The humidity of air that a person noted or a sensor measured, at the kiln's own height above the sea, and its EMC."""

from drying.air import pressure_pa, relative_humidity_pct
from drying.wood import equilibrium_moisture_pct
from kilnruns.models import RunRecord


def humidity_pct(
    dry_bulb_c: float | None, wet_bulb_c: float | None, humidity_pct: float | None, altitude_m: float
) -> float | None:
    """As noted, or from the two bulbs; None where neither was, or no air is so dry. Bulbs that a sensor has crossed by
    its error are air that is full."""
    if humidity_pct is not None:
        return humidity_pct
    if dry_bulb_c is None or wet_bulb_c is None:
        return None
    try:
        return float(relative_humidity_pct(dry_bulb_c, min(wet_bulb_c, dry_bulb_c), float(pressure_pa(altitude_m))))
    except ValueError:
        return None


def emc_of(record: RunRecord, altitude_m: float) -> float | None:
    """Equilibrium moisture, %, of the air in a record; None where it was not noted whole, or is no air of a kiln."""
    damp = humidity_pct(record.dry_bulb_c, record.wet_bulb_c, record.humidity_pct, altitude_m)
    if damp is None or record.dry_bulb_c is None or not 0 <= record.dry_bulb_c <= 100:
        return None
    return float(equilibrium_moisture_pct(record.dry_bulb_c, min(max(damp, 0), 100)))
