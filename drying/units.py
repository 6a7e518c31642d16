"""Exact conversions between the core's units and those people use. Numbers or arrays in, the same shape out.

Exact by definition: inch 25.4 mm, foot 304.8 mm, pound 0.45359237 kg; a board foot is 1 ft x 1 ft x 1 in = 144 in3.
No formatting here, no guards: a conversion holds for any number.
"""

import numpy as np
from numpy.typing import ArrayLike

from drying.ranges import FloatArray

MM_PER_INCH = 25.4
MM_PER_FOOT = 304.8
KG_PER_POUND = 0.45359237
M3_PER_BOARD_FOOT = 144 * 0.0254**3  # 0.002359737216


def _array(values: ArrayLike) -> FloatArray:
    return np.asarray(values, dtype=np.float64)


def mm_from_inch(length_inch: ArrayLike) -> FloatArray:
    """mm from inches."""
    return _array(length_inch) * MM_PER_INCH


def inch_from_mm(length_mm: ArrayLike) -> FloatArray:
    """Inches from mm."""
    return _array(length_mm) / MM_PER_INCH


def mm_from_feet(length_feet: ArrayLike) -> FloatArray:
    """mm from feet."""
    return _array(length_feet) * MM_PER_FOOT


def feet_from_mm(length_mm: ArrayLike) -> FloatArray:
    """Feet from mm."""
    return _array(length_mm) / MM_PER_FOOT


def m3_from_board_feet(board_feet: ArrayLike) -> FloatArray:
    """m3 from board feet."""
    return _array(board_feet) * M3_PER_BOARD_FOOT


def board_feet_from_m3(volume_m3: ArrayLike) -> FloatArray:
    """Board feet from m3."""
    return _array(volume_m3) / M3_PER_BOARD_FOOT


def kg_from_pounds(mass_pounds: ArrayLike) -> FloatArray:
    """kg from pounds."""
    return _array(mass_pounds) * KG_PER_POUND


def pounds_from_kg(mass_kg: ArrayLike) -> FloatArray:
    """Pounds from kg."""
    return _array(mass_kg) / KG_PER_POUND


def c_from_f(temperature_f: ArrayLike) -> FloatArray:
    """°C from °F."""
    return (_array(temperature_f) - 32) / 1.8


def f_from_c(temperature_c: ArrayLike) -> FloatArray:
    """°F from °C."""
    return _array(temperature_c) * 1.8 + 32


def k_from_f_difference(difference_f: ArrayLike) -> FloatArray:
    """A difference (a wet-bulb depression) in K from one in °F."""
    return _array(difference_f) / 1.8
