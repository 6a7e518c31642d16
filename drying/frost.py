"""What frost does to drying: wood with ice in it stands still, and only the shell's bound water goes on.

Temperatures °C of air and wood alike (a day's mean), moisture a FRACTION of dry mass.
"""

import numpy as np
from numpy.typing import ArrayLike

from drying import diffusivity
from drying.ranges import FloatArray, within


def thawed(temperature_c: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """What frost leaves, on top of the cold's own slowness: a factor on all rates, and how much free water still flows.

    Frozen wood does not dry appreciably (common practice, no source): see `frozen`. All rates: 1 from 0 °C up, falling
    evenly to a half at -10 °C. Free water: all from 0 °C up, none below -5 °C of the day's mean (ice stays where it
    is). What goes on is the shell's bound water, which does not freeze. So in 30 days at 80 % a green oak board of
    27 mm loses 38 points at 15 °C, 22 at 0, 12 at -5, 6 at -10 and 3 at -20 °C (tests/drying/test_frost.py). The slopes
    are choices; five were tried for the first, and this brings red oak stacked in September and October nearest to a
    published calculation by month (tests/drying/test_published_days.py). -60..100 °C; ValueError outside.
    """
    temperature = within("temperature", temperature_c, -60, 100, "°C")
    return np.clip(1 + 0.05 * temperature, 0.5, 1.0), np.clip(1 + 0.2 * temperature, 0.0, 1.0)


def frozen(temperature_c: ArrayLike, moisture: ArrayLike) -> np.ndarray:
    """Where wood holds ice, so that its core stands still: below 0 °C and wetter than fibre saturation.

    -60..100 °C, moisture a fraction, 0..4 of dry mass, that of the core or of the board; ValueError outside. That free
    water freezes a little below 0 °C and bound water does not: from memory (Siau). The days above -5 °C still move
    some, for a day's mean hides its noon (`thawed`).
    """
    cold = within("temperature", temperature_c, -60, 100, "°C")
    return (cold < 0) & (within("moisture (fraction)", moisture, 0, 4, "") > diffusivity.saturation(cold))
