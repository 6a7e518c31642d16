"""Moisture content by weighing: oven-dry slices and sample boards. Masses in g (any one unit will do), results in %.

Numbers or arrays that broadcast; out-of-range input raises ValueError naming quantity, value and range.
"""

import numpy as np
from numpy.typing import ArrayLike

from drying.ranges import FloatArray, first, within
from drying.wood import WETTEST_PCT

_LIGHTEST_G, _HEAVIEST_G = 1e-3, 1e7


def _mass(quantity: str, values: ArrayLike) -> FloatArray:
    return within(quantity, values, _LIGHTEST_G, _HEAVIEST_G, "g")


def moisture_pct(wet_g: ArrayLike, oven_dry_g: ArrayLike) -> FloatArray:
    """Moisture content, % of oven-dry mass: (m1 - m0)/m0 x 100 (EN 13183-1:2002 clause 6; ASTM D4442).

    Raises ValueError where the wet mass is below the oven-dry one (swapped?) or the result above 400 %.
    """
    wet, dry = _mass("wet mass", wet_g), _mass("oven-dry mass", oven_dry_g)
    if np.any(below := wet < dry):
        wet_1, dry_1 = first(below, wet, dry)
        raise ValueError(f"wet mass {wet_1:g} g is below the oven-dry mass {dry_1:g} g; they may be swapped")
    return within("moisture content", (wet / dry - 1) * 100, 0, WETTEST_PCT, "%")


def oven_dry_g(green_g: ArrayLike, moisture_pct: ArrayLike) -> FloatArray:
    """Calculated oven-dry mass, g, of a sample board: green mass / (1 + MC/100) (USDA AH-188, ch. 6).

    `moisture_pct` is the mean of the sections cut from both ends, 0..400 %.
    """
    return _mass("green mass", green_g) / (1 + within("moisture content", moisture_pct, 0, WETTEST_PCT, "%") / 100)


def current_moisture_pct(mass_g: ArrayLike, oven_dry_g: ArrayLike) -> FloatArray:
    """Moisture content now, %, of a sample board: (mass / calculated oven-dry mass - 1) x 100 (USDA AH-188, ch. 6)."""
    return moisture_pct(mass_g, oven_dry_g)


def wet_basis_pct(moisture_pct: ArrayLike) -> FloatArray:
    """Share of water in the whole mass, %, from moisture content (0..400 %): definition, u/(1 + u)."""
    moisture = within("moisture content", moisture_pct, 0, WETTEST_PCT, "%")
    return moisture / (1 + moisture / 100)


def from_wet_basis_pct(wet_basis_pct: ArrayLike) -> FloatArray:
    """Moisture content, % of oven-dry mass, from the water's share of the whole (0..80 %): definition, w/(1 - w)."""
    share = within("wet-basis moisture content", wet_basis_pct, 0, 80, "%")
    return share / (1 - share / 100)


def balance_g(oven_dry_g: ArrayLike) -> FloatArray:
    """Resolution, g, of the balance for a slice of this oven-dry mass, 0.001..1e7 g (EN 13183-1:2002 clause 4)."""
    return np.where(_mass("oven-dry mass", oven_dry_g) > 100, 0.1, 0.01)
