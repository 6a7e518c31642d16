"""Water activity and transverse diffusion in wood, tabulated for the hot loop. Moisture content here is a FRACTION.

Siau's model (Transport Processes in Wood, 1984; Wood: Influence of Moisture on Physical Properties, 1995; recalled) is
slow; ln D is smooth, so it is fitted once, at import, by a parabola in moisture per temperature and basic specific
gravity. tests/drying/test_diffusivity.py measures the fit and checks the bound-water term from outside. The theory
takes -20..100 °C, ValueError outside; what the hot loop calls (`activity_row`, `tabulated_activity`, `parabola`,
`saturation`) holds its table's ends, where `diffusion` lets nothing through.
"""

import numpy as np
from numpy.typing import ArrayLike

from drying.air import GAS_CONSTANT_J_MOL_K, KELVIN, WATER_MOLAR_MASS_KG_MOL, saturation_pressure_pa
from drying.ranges import FloatArray, within
from drying.wood import equilibrium_moisture_pct

COLDEST_C, HOTTEST_C = -20.0, 100.0
LIGHTEST, DENSEST = 0.10, 1.30

_HUMIDITIES = np.concatenate([np.arange(0, 0.90, 0.01), np.arange(0.90, 1.0001, 0.005)])
_ACTIVITY_STEP_C, _MOISTURE_STEP = 0.25, 0.0025
_MOISTURES = np.arange(0, 0.3201, _MOISTURE_STEP)
_FIT_C = np.arange(COLDEST_C, HOTTEST_C + 0.1, 2.0)
_FIT_GRAVITY = np.linspace(LIGHTEST, DENSEST, 61)


def saturation(temperature_c: ArrayLike) -> FloatArray:
    """Fibre saturation as the sorption equation has it, EMC(T, 100 %), fraction: the model's own, 0.288 at 20 °C."""
    return equilibrium_moisture_pct(np.clip(temperature_c, COLDEST_C, HOTTEST_C), 100.0) / 100


def activity(moisture: ArrayLike, temperature_c: float) -> FloatArray:
    """Water activity 0..1 of wood at this moisture (fraction): the sorption equation inverted; 1 above saturation."""
    held = equilibrium_moisture_pct(temperature_c, 100 * _HUMIDITIES) / 100
    return np.interp(_fraction(moisture), held, _HUMIDITIES)


def _fraction(moisture: ArrayLike) -> FloatArray:
    return within("moisture (fraction)", moisture, -0.01, 4, "")


def _kelvin(temperature_c: float) -> float:
    return float(within("temperature", temperature_c, COLDEST_C, HOTTEST_C, "°C")) + KELVIN


def bound_water_m2_s(moisture: ArrayLike, temperature_c: float) -> FloatArray:
    """Transverse diffusion of bound water in the cell wall, m2/s: 7e-6 exp(-(38500 - 29000 M) / (R T)) (Siau 1984)."""
    gas = GAS_CONSTANT_J_MOL_K * _kelvin(temperature_c)
    return 7e-6 * np.exp(-(38500 - 29000 * _fraction(moisture)) / gas)


def siau_m2_s(moisture: ArrayLike, temperature_c: float, specific_gravity: ArrayLike) -> FloatArray:
    """Transverse diffusion coefficient, m2/s, for a gradient of moisture (fraction, up to saturation; clipped there).

    Bound water in the cell wall and vapour in the lumen in Siau's cell geometry (Siau 1984; form recalled). Specific
    gravity 0.1..1.3.
    """
    kelvin = _kelvin(temperature_c)
    specific_gravity = within("basic specific gravity", specific_gravity, LIGHTEST, DENSEST, "")
    wet = np.minimum(_fraction(moisture), saturation(temperature_c) - 0.0031)
    gas = GAS_CONSTANT_J_MOL_K * kelvin
    bound = bound_water_m2_s(wet, temperature_c)
    lumen = np.clip(1 - np.asarray(specific_gravity) * (0.667 + wet), 0.05, 0.95)
    side = np.sqrt(lumen)
    slope = np.maximum((activity(wet + 0.003, temperature_c) - activity(wet - 0.003, temperature_c)) / 0.006, 0.25)
    in_air = 2.2e-5 * (kelvin / KELVIN) ** 1.75
    vapour = WATER_MOLAR_MASS_KG_MOL * in_air * saturation_pressure_pa(temperature_c) * slope
    vapour = vapour * (1 + 1.54 * wet) / (1540 * gas)
    return bound * vapour / ((1 - lumen) * (bound + vapour * (1 - side)))


def _parabolas() -> FloatArray:
    """c0, c1, c2 of ln D over moisture, [3, temperature, gravity], by least squares over 0.04..saturation."""
    table = np.empty((3, len(_FIT_C), len(_FIT_GRAVITY)))
    for i, temperature_c in enumerate(_FIT_C):
        moisture = np.linspace(0.04, float(saturation(temperature_c)) - 0.0031, 40)
        log_d = np.log(siau_m2_s(moisture[:, None], float(temperature_c), _FIT_GRAVITY[None, :]))
        table[:, i, :] = np.polynomial.polynomial.polyfit(moisture, log_d, 2)
    return table


def _activities() -> FloatArray:
    temperatures = np.arange(COLDEST_C, HOTTEST_C + 0.1, _ACTIVITY_STEP_C)
    return np.stack([activity(_MOISTURES, float(t)) for t in temperatures])


_PARABOLAS = _parabolas()
_ACTIVITIES = _activities()
_ROW = len(_MOISTURES)


def _lines() -> tuple[FloatArray, FloatArray]:
    """Level and slope of the straight line that begins at each point of the flat activity table; level ones at rows'
    ends."""
    slope = np.diff(_ACTIVITIES, axis=1, append=_ACTIVITIES[:, -1:]) / _MOISTURE_STEP
    return (_ACTIVITIES - slope * _MOISTURES).ravel(), slope.ravel()


_LINES = _lines()
_SINGLE_LINES = tuple(line.astype(np.float32) for line in _LINES)


def activity_row(temperature_c: ArrayLike) -> np.ndarray:
    """Where in the flat activity table the nearest temperature (0.25 °C apart, so within 0.01 points MC) begins."""
    inside = np.clip(temperature_c, COLDEST_C, HOTTEST_C)
    return np.rint((inside - COLDEST_C) / _ACTIVITY_STEP_C).astype(np.intp) * _ROW


def tabulated_activity(moisture: FloatArray, row: np.ndarray) -> FloatArray:
    """`activity` by table, straight lines between 0.25 points of moisture (fraction); `activity_row` gives `row`."""
    position = np.minimum(np.maximum(moisture * (1 / _MOISTURE_STEP), 0.0), _ROW - 1)
    cell = position.astype(np.intp)
    cell = cell + row
    level, slope = _LINES if position.dtype == np.float64 else _SINGLE_LINES
    found = slope.take(cell)
    found *= moisture
    found += level.take(cell)
    return found


def _between(values: ArrayLike, grid: FloatArray) -> tuple[np.ndarray, FloatArray]:
    position = (np.asarray(values) - grid[0]) / (grid[1] - grid[0])
    position = np.minimum(np.maximum(position, 0), len(grid) - 1.001)
    cell = position.astype(np.intp)
    return cell, position - cell


def parabola(temperature_c: ArrayLike, specific_gravity: ArrayLike) -> FloatArray:
    """c0, c1, c2 with D = exp(c0 + c1 M + c2 M^2) m2/s up to saturation, shape [3, ...]; bilinear in the fitted table.

    -20..100 °C, specific gravity 0.1..1.3; held at the ends beyond, which `diffusion.Wood` and `Air.of` do not let in.
    """
    i, a = _between(temperature_c, _FIT_C)
    j, b = _between(specific_gravity, _FIT_GRAVITY)
    cold = _PARABOLAS[:, i, j] * (1 - b) + _PARABOLAS[:, i, j + 1] * b
    warm = _PARABOLAS[:, i + 1, j] * (1 - b) + _PARABOLAS[:, i + 1, j + 1] * b
    return cold * (1 - a) + warm * a


def fit_position(temperature_c: ArrayLike) -> tuple[np.ndarray, FloatArray]:
    """The fitted temperature (index) next below, and how far on to the next: the first step of `parabola`, for air that
    is kept. -20..100 °C, held at the ends beyond."""
    return _between(temperature_c, _FIT_C)


class Fits:
    """`parabola` for S stacks whose specific gravity stays: interpolated in gravity once, in temperature each step."""

    def __init__(self, level: FloatArray, slope: FloatArray, first: np.ndarray) -> None:
        self._level, self._slope, self._first = level, slope, first

    @classmethod
    def of(cls, specific_gravity: FloatArray) -> "Fits":
        """Stacks of these basic specific gravities [S], 0.1..1.3; held at the ends beyond."""
        kinds, kind = np.unique(specific_gravity, return_inverse=True)
        j, b = _between(kinds, _FIT_GRAVITY)
        level = (_PARABOLAS[:, :, j] * (1 - b) + _PARABOLAS[:, :, j + 1] * b).transpose(0, 2, 1)
        slope = np.diff(level, axis=2, append=level[:, :, -1:])
        return cls(level.reshape(3, -1), slope.reshape(3, -1), kind * len(_FIT_C))

    def at(self, cell: np.ndarray, share: FloatArray) -> FloatArray:
        """c0, c1, c2, [3, S], at the temperatures of `fit_position`."""
        row = self._first + cell
        return self._level.take(row, axis=1) + self._slope.take(row, axis=1) * share

    def pick(self, rows: np.ndarray) -> "Fits":
        """Those of some stacks."""
        return Fits(self._level, self._slope, self._first[rows])
