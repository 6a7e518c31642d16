"""Moist air: temperature in °C, relative humidity in % (0..100), pressure in Pa, at the site's own pressure.

The relations are those of the ASHRAE Handbook of Fundamentals (2017), chapter 1, as psychrolib has them, over arrays:
every argument may be a number or an array, arguments broadcast, and the result has the broadcast shape.
Accepted: -40..120 °C, 0..100 %, 40000..110000 Pa; anything else raises ValueError naming quantity, value and range.
Agreement measured in tests/drying/test_air.py. psychrolib: equal. CoolProp's humid air at 101325 Pa: humidity ratio
within 0.74 % to 60 °C and 1.1 % to 80 °C (ours leaves out the enhancement factor), wet bulb 0.024 K, dew point
0.029 K, density 0.35 %, enthalpy 2.4 kJ/kg to 60 °C and 12.1 in saturated air of 80 °C.
"""

import numpy as np
from numpy.typing import ArrayLike

from drying.ranges import FloatArray, bisect, first, within

STANDARD_PRESSURE_PA = 101325.0
KELVIN = 273.15
GAS_CONSTANT_J_MOL_K = 8.314
WATER_MOLAR_MASS_KG_MOL = 0.018015
_MASS_RATIO = 0.621945  # water to dry air, mol mass
_DRY_AIR_GAS_CONSTANT = 287.042  # J/(kg K)


def _temperature(values: ArrayLike, name: str = "temperature") -> FloatArray:
    return within(name, values, -40, 120, "°C")


def _humidity(values: ArrayLike) -> FloatArray:
    return within("relative humidity", values, 0, 100, "%")


def _pressure(values: ArrayLike) -> FloatArray:
    return within("air pressure", values, 40_000, 110_000, "Pa")


def pressure_pa(altitude_m: ArrayLike) -> FloatArray:
    """Standard air pressure, Pa, at an altitude of -500..5000 m (ASHRAE 2017 ch. 1 eq. 3)."""
    height = within("altitude", altitude_m, -500, 5000, "m")
    return STANDARD_PRESSURE_PA * (1 - 2.25577e-5 * height) ** 5.2559


def _ln_saturation(kelvin: FloatArray) -> FloatArray:
    """ln of the saturation pressure in Pa, from K (ASHRAE 2017 ch. 1 eq. 5 over ice, 6 over water; Hyland-Wexler)."""
    k, log_k = kelvin, np.log(kelvin)
    water = -5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k**2 - 1.4452093e-8 * k**3
    ice = -5.6745359e3 / k + 6.3925247 - 9.677843e-3 * k + 6.2215701e-7 * k**2 + 2.0747825e-9 * k**3
    ice = ice - 9.484024e-13 * k**4 + 4.1635019 * log_k
    return np.where(k <= KELVIN + 0.01, ice, water + 6.5459673 * log_k)


def saturation_pressure_pa(temperature_c: ArrayLike) -> FloatArray:
    """Vapour pressure of saturated air, Pa, -40..120 °C; over ice below the triple point (ASHRAE 2017 eq. 5 and 6)."""
    return np.exp(_ln_saturation(_temperature(temperature_c) + KELVIN))


def _vapour_pressure(temperature_c: ArrayLike, relative_humidity_pct: ArrayLike) -> FloatArray:
    return _humidity(relative_humidity_pct) / 100 * saturation_pressure_pa(temperature_c)


def _ratio(vapour_pa: FloatArray, pressure: FloatArray) -> FloatArray:
    """Humidity ratio; infinite where the vapour alone would fill the air."""
    room = pressure - vapour_pa
    return np.where(room > 0, _MASS_RATIO * vapour_pa / np.where(room > 0, room, 1.0), np.inf)


def _guarded_ratio(vapour_pa: FloatArray, pressure: FloatArray) -> FloatArray:
    if np.any(over := vapour_pa >= pressure):
        vapour, all_pa = first(over, vapour_pa, pressure)
        raise ValueError(f"vapour pressure {vapour:.0f} Pa is outside 0 to {all_pa:.0f} Pa, the air's own pressure")
    return _ratio(vapour_pa, pressure)


def humidity_ratio(
    temperature_c: ArrayLike, relative_humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Water vapour per dry air, kg/kg (ASHRAE 2017 eq. 20).

    Raises ValueError as well where the vapour alone would exceed the air pressure (hot, humid, above about 100 °C).
    """
    return _guarded_ratio(_vapour_pressure(temperature_c, relative_humidity_pct), _pressure(pressure_pa))


def _ratio_of_wet_bulb(dry_bulb_c: FloatArray, wet_bulb_c: FloatArray, pressure: FloatArray) -> FloatArray:
    """Humidity ratio of an adiabatic wet bulb (ASHRAE 2017 eq. 33 over water, eq. 35 over ice); may be negative."""
    saturated = _ratio(np.exp(_ln_saturation(wet_bulb_c + KELVIN)), pressure)
    gap = 1.006 * (dry_bulb_c - wet_bulb_c)
    water = ((2501 - 2.326 * wet_bulb_c) * saturated - gap) / (2501 + 1.86 * dry_bulb_c - 4.186 * wet_bulb_c)
    ice = ((2830 - 0.24 * wet_bulb_c) * saturated - gap) / (2830 + 1.86 * dry_bulb_c - 2.1 * wet_bulb_c)
    return np.where(wet_bulb_c >= 0, water, ice)


def relative_humidity_pct(
    dry_bulb_c: ArrayLike, wet_bulb_c: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Relative humidity, %, from dry and (aspirated) wet bulb (ASHRAE 2017 eq. 33, 35 and 20).

    Raises ValueError where the wet bulb is above the dry bulb, or lower than perfectly dry air would give.
    """
    dry, wet = _temperature(dry_bulb_c, "dry bulb"), _temperature(wet_bulb_c, "wet bulb")
    pressure = _pressure(pressure_pa)
    if np.any(above := wet > dry + 1e-6):  # rounding of saturated air is no mistake
        wet_1, dry_1 = first(above, wet, dry)
        raise ValueError(f"wet bulb {wet_1:g} °C is above the dry bulb {dry_1:g} °C; they may be swapped")
    wet = np.minimum(wet, dry)
    _guarded_ratio(saturation_pressure_pa(wet), pressure)
    ratio = _ratio_of_wet_bulb(dry, wet, pressure)
    if np.any(below := ratio < -1e-9):
        wet_1, dry_1 = first(below, wet, dry)
        raise ValueError(
            f"wet bulb {wet_1:g} °C is too low for dry bulb {dry_1:g} °C: even perfectly dry air gives more"
        )
    ratio = np.maximum(ratio, 0)
    return 100 * pressure * ratio / (_MASS_RATIO + ratio) / saturation_pressure_pa(dry)


def wet_bulb_c(
    dry_bulb_c: ArrayLike, relative_humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Wet bulb, °C, that this air shows: the inverse of `relative_humidity_pct`, by bisection to 1e-9 K.

    Raises ValueError also where the vapour alone would exceed the air pressure.
    """
    dry, pressure = _temperature(dry_bulb_c, "dry bulb"), _pressure(pressure_pa)
    target = humidity_ratio(dry, relative_humidity_pct, pressure)
    return bisect(lambda wet: _ratio_of_wet_bulb(dry, wet, pressure), dry - 100, dry, target)


def dew_point_c(temperature_c: ArrayLike, relative_humidity_pct: ArrayLike) -> FloatArray:
    """Temperature, °C, at which this air's vapour is saturated: ASHRAE eq. 5 and 6 inverted by bisection.

    Takes 1..100 % (dry air has no dew point); over ice below 0 °C, so "frost point" there.
    """
    air_c = _temperature(temperature_c)
    humidity = within("relative humidity", relative_humidity_pct, 1, 100, "%")
    target = np.log(humidity / 100) + _ln_saturation(air_c + KELVIN)
    return bisect(_ln_saturation, air_c + KELVIN - 110, air_c + KELVIN, target) - KELVIN


def enthalpy_kj_kg(
    temperature_c: ArrayLike, relative_humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Enthalpy of moist air, kJ per kg of *dry* air, zero for dry air at 0 °C (ASHRAE 2017 eq. 30)."""
    ratio = humidity_ratio(temperature_c, relative_humidity_pct, pressure_pa)
    temperature = np.asarray(temperature_c, dtype=np.float64)
    return 1.006 * temperature + ratio * (2501 + 1.86 * temperature)


def density_kg_m3(
    temperature_c: ArrayLike, relative_humidity_pct: ArrayLike, pressure_pa: ArrayLike = STANDARD_PRESSURE_PA
) -> FloatArray:
    """Density of moist air, kg (air and vapour) per m3 (ASHRAE 2017 eq. 26 and 11)."""
    ratio = humidity_ratio(temperature_c, relative_humidity_pct, pressure_pa)
    kelvin = np.asarray(temperature_c, dtype=np.float64) + KELVIN
    return (1 + ratio) * np.asarray(pressure_pa) / (_DRY_AIR_GAS_CONSTANT * kelvin * (1 + 1.607858 * ratio))


def vapour_concentration_kg_m3(temperature_c: ArrayLike, relative_humidity_pct: ArrayLike) -> FloatArray:
    """Water vapour per volume of air, kg/m3, as an ideal gas: M p / (R T)."""
    kelvin = np.asarray(temperature_c, dtype=np.float64) + KELVIN
    vapour_pa = _vapour_pressure(temperature_c, relative_humidity_pct)
    return WATER_MOLAR_MASS_KG_MOL * vapour_pa / (GAS_CONSTANT_J_MOL_K * kelvin)


def latent_heat_j_kg(temperature_c: ArrayLike) -> FloatArray:
    """Heat to evaporate liquid water, J/kg: 2501 - 2.36 T kJ/kg, the usual psychrometric line (from memory).

    -40..120 °C; within 3 kJ/kg of CoolProp's water from 5 to 70 °C, 16 too high at 120;
    below 0 °C it stands for undercooled water.
    """
    return (2501 - 2.36 * _temperature(temperature_c)) * 1e3
