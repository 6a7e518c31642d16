"""Round wood: what a log measures, and which logs to bring for so much sawn wood.

Volumes are under bark where the diameter is. How much of a log becomes sawn wood depends on the saw, the log and what
is cut of it: `yield_share` is asked for, never assumed. Out-of-range input
raises ValueError naming quantity, value and range.
"""

from math import ceil, pi

import numpy as np
from numpy.typing import ArrayLike

from drying.ranges import FloatArray, within


def huber_m3(mid_diameter_mm: ArrayLike, length_m: ArrayLike) -> FloatArray:
    """Volume, m³, by the diameter at half the length: pi/4 d² L (Huber's formula, from memory).

    50..2000 mm, 0.3..25 m.
    """
    diameter = within("mid diameter", mid_diameter_mm, 50, 2000, "mm")
    return np.asarray(pi / 4 * (diameter / 1000) ** 2 * within("log length", length_m, 0.3, 25, "m"))


def smalian_m3(top_diameter_mm: ArrayLike, butt_diameter_mm: ArrayLike, length_m: ArrayLike) -> FloatArray:
    """Volume, m³, by the mean of both ends' areas (Smalian's formula, from memory). 50..2000 mm, 0.3..25 m."""
    top = within("top diameter", top_diameter_mm, 50, 2000, "mm")
    butt = within("butt diameter", butt_diameter_mm, 50, 2000, "mm")
    areas = pi / 4 * ((top / 1000) ** 2 + (butt / 1000) ** 2) / 2
    return np.asarray(areas * within("log length", length_m, 0.3, 25, "m"))


def logs_for(sawn_m3: float, mid_diameter_mm: float, length_m: float, yield_share: float) -> int:
    """How many logs of one size give so much green sawn wood, 0..10000 m³ (geometry).

    `yield_share`: the fraction of their volume that becomes sawn wood, 0.1..0.9.
    """
    sawn = float(within("sawn volume", sawn_m3, 0, 10_000, "m³"))
    share = float(within("yield", yield_share, 0.1, 0.9, ""))
    return ceil(sawn / (share * float(huber_m3(mid_diameter_mm, length_m))) - 1e-9)
