"""Moisture by pins that stay in the wood and tell its resistance, by the wood's own curve and its warmth."""

import numpy as np
from numpy.typing import ArrayLike

from drying.meters import CHART, CURVES, HIGHEST_USABLE_PCT, LOWEST_USABLE_PCT, chart_correction_pct
from drying.ranges import FloatArray, within
from drying.species import SPECIES

USUAL_CURVE = "Douglas-fir (coast)"
"""What stands in for a wood without a curve of its own: the one that pin meters' scales are made after (Wood Handbook
ch. 13, recalled)."""
COLDEST_C, HOTTEST_C = min(CHART), max(CHART)


CURVED = frozenset(key for key, wood in SPECIES.items() if (wood.meter_key or "") in CURVES)
"""Keys of the woods (drying.species.SPECIES) that have a published resistance curve."""


def resistance_moisture_pct(
    megohm: ArrayLike, wood_temperature_c: ArrayLike, species_key: str | None = None
) -> FloatArray:
    """Moisture, %, from the resistance between two pins (1e-3..1e6 MOhm) and the wood's temperature (-40..130 °C).

    The wood's curve (James, FPL-GTR-6 table 1, or VTT 420 table 5; `USUAL_CURVE` for a wood without one) gives what a
    meter true at 21.1 °C would indicate, and the chart (James, figure 5) what that is at the wood's warmth; beyond
    -20 and 50 °C its edge holds, which reads wood of 60 °C up to two points too wet (our estimate from the chart's
    slope). Shapes are broadcast. NaN where pins tell nothing: outside the curve, above 30 or below 6 % (Wood Handbook
    ch. 13). ValueError outside, and for an unknown species.
    """
    seen = within("resistance between pins", megohm, 1e-3, 1e6, "MOhm")
    warmth = np.clip(within("wood temperature", wood_temperature_c, -40, 130, "°C"), COLDEST_C, HOTTEST_C)
    if species_key is not None and species_key not in SPECIES:
        raise ValueError(f"species {species_key!r} is not one of the {len(SPECIES)} in drying.species.SPECIES")
    own = SPECIES[species_key].meter_key if species_key in CURVED else None
    curve = CURVES[own or USUAL_CURVE]
    there = curve.moisture_pct(np.log10(seen))
    fine = curve.covers(there)
    there = np.where(fine, there, curve.lowest_pct)
    indicated = there - chart_correction_pct(there, curve.temperature_c)
    found = indicated + chart_correction_pct(indicated, warmth)
    return np.where(fine & (found >= LOWEST_USABLE_PCT) & (found <= HIGHEST_USABLE_PCT), found, np.nan)
