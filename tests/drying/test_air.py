"""Moist air against psychrolib (the same ASHRAE relations) and CoolProp (another theory); kiln wet-bulb examples."""

import itertools

import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI
from hypothesis import given
from hypothesis import strategies as st

from drying import air, units, wood

psychrolib.SetUnitSystem(psychrolib.SI)
STATES = list(itertools.product((-15, -2, 0, 3, 10, 20, 35, 60, 80), (5, 30, 65, 99, 100), (85_000, 101_325)))
HUMIDITIES = (0.1, 0.3, 0.5, 0.7, 0.9, 1.0)


@pytest.mark.parametrize(("temperature_c", "humidity_pct", "pressure_pa"), STATES)
def test_equal_to_psychrolib(temperature_c, humidity_pct, pressure_pa):
    state = (temperature_c, humidity_pct / 100, pressure_pa)
    ratio = psychrolib.GetHumRatioFromRelHum(*state)
    assert air.saturation_pressure_pa(temperature_c) == pytest.approx(
        psychrolib.GetSatVapPres(temperature_c), rel=1e-12
    )
    assert air.humidity_ratio(temperature_c, humidity_pct, pressure_pa) == pytest.approx(ratio, rel=1e-12)
    enthalpy = psychrolib.GetMoistAirEnthalpy(temperature_c, ratio) / 1000
    assert air.enthalpy_kj_kg(temperature_c, humidity_pct, pressure_pa) == pytest.approx(enthalpy, rel=1e-12)
    density = psychrolib.GetMoistAirDensity(temperature_c, ratio, pressure_pa)
    assert air.density_kg_m3(temperature_c, humidity_pct, pressure_pa) == pytest.approx(density, rel=1e-12)
    # psychrolib stops its own search for the wet bulb at 0.001 K
    wet_bulb = psychrolib.GetTWetBulbFromRelHum(*state)
    assert air.wet_bulb_c(temperature_c, humidity_pct, pressure_pa) == pytest.approx(wet_bulb, abs=0.001)
    dew_point = psychrolib.GetTDewPointFromRelHum(temperature_c, humidity_pct / 100)
    # its dew point is good to a few thousandths just about the triple point, where ice and water curves meet
    assert air.dew_point_c(temperature_c, humidity_pct) == pytest.approx(
        dew_point, abs=1e-6 if dew_point != 0 else 0.01
    )


@pytest.mark.parametrize(
    ("dry_bulb_c", "wet_bulb_c", "pressure_pa"),
    [(20, 12, 101_325), (43.3, 41.1, 101_325), (71.1, 54.4, 90_000), (-5, -6, 101_325), (5, -1, 101_325)],
)
def test_humidity_from_wet_bulb_equal_to_psychrolib(dry_bulb_c, wet_bulb_c, pressure_pa):
    theirs = 100 * psychrolib.GetRelHumFromTWetBulb(dry_bulb_c, wet_bulb_c, pressure_pa)
    assert air.relative_humidity_pct(dry_bulb_c, wet_bulb_c, pressure_pa) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("altitude_m", [0, 300, 1500, 4000])
def test_pressure_at_altitude_equal_to_psychrolib(altitude_m):
    assert air.pressure_pa(altitude_m) == pytest.approx(psychrolib.GetStandardAtmPressure(altitude_m), rel=1e-12)


def _coolprop(quantity, temperature_c, humidity):
    return HAPropsSI(quantity, "T", temperature_c + 273.15, "R", humidity, "P", 101_325)


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize(
    ("temperature_c", "ratio_rel", "density_rel", "enthalpy_kj"),
    [  # allowances just above the largest difference measured on this grid up to that temperature
        *[(t, 0.0075, 0.001, 2.4) for t in range(-10, 61, 10)],
        (70, 0.011, 0.0036, 12.1),
        (80, 0.011, 0.0036, 12.1),
    ],
)
def test_near_coolprop_humid_air(temperature_c, ratio_rel, density_rel, enthalpy_kj, humidity):
    ratio, enthalpy = _coolprop("W", temperature_c, humidity), _coolprop("H", temperature_c, humidity) / 1000
    density = (1 + ratio) / _coolprop("Vda", temperature_c, humidity)
    assert air.humidity_ratio(temperature_c, 100 * humidity) == pytest.approx(ratio, rel=ratio_rel)
    assert air.density_kg_m3(temperature_c, 100 * humidity) == pytest.approx(density, rel=density_rel)
    assert air.enthalpy_kj_kg(temperature_c, 100 * humidity) == pytest.approx(enthalpy, abs=enthalpy_kj)


@pytest.mark.parametrize("humidity", HUMIDITIES)
@pytest.mark.parametrize("temperature_c", [5, 20, 35, 50, 65, 80])
def test_near_coolprop_wet_bulb_and_dew_point(temperature_c, humidity):
    wet_bulb = _coolprop("B", temperature_c, humidity) - 273.15
    assert air.wet_bulb_c(temperature_c, 100 * humidity) == pytest.approx(wet_bulb, abs=0.025)
    dew_point = _coolprop("D", temperature_c, humidity) - 273.15
    assert air.dew_point_c(temperature_c, 100 * humidity) == pytest.approx(dew_point, abs=0.03)
    # largest in cold dry air, where the wet bulb is near 0 °C
    assert air.relative_humidity_pct(temperature_c, wet_bulb) == pytest.approx(100 * humidity, abs=0.28)


@pytest.mark.parametrize("temperature_c", [5, 20, 40, 60, 90])
def test_near_coolprop_saturated_water(temperature_c):
    """CoolProp's water (IAPWS): vapour pressure within 0.023 %, as an ideal gas the density within 1.3 %."""
    state = ("T", temperature_c + 273.15, "Q", 1, "Water")
    assert air.saturation_pressure_pa(temperature_c) == pytest.approx(PropsSI("P", *state), rel=2.3e-4)
    assert air.vapour_concentration_kg_m3(temperature_c, 100) == pytest.approx(PropsSI("D", *state), rel=0.013)


@pytest.mark.parametrize(("temperature_c", "within_kj"), [(5, 3), (20, 3), (40, 3), (70, 3), (100, 9), (120, 16)])
def test_latent_heat_near_coolprop(temperature_c, within_kj):
    kelvin = temperature_c + 273.15
    steam, water = (PropsSI("H", "T", kelvin, "Q", quality, "Water") for quality in (1, 0))
    assert air.latent_heat_j_kg(temperature_c) == pytest.approx(steam - water, abs=within_kj * 1000)


@pytest.mark.parametrize(
    ("dry_f", "wet_f", "humidity_pct", "moisture_pct", "allowance_pct"),
    [  # worked example 4: kiln charts are older; 0.3 % EMC to 50 °C, 0.6 % at 70 to 90 °C, and 0.05 for their rounding
        (160, 130, None, 5.8, 0.65),  # published: Kozlik, equalizing and conditioning paper
        (190, 160, None, 5.5, 0.65),  # same
        (110, 106, 87, 17.6, 0.35),  # FPL-GTR-57 red oak schedule, from memory
        (110, 102, 75, 13.3, 0.35),  # same
        (120, 90, 31, 5.4, 0.35),  # same
    ],
)
def test_wet_bulb_to_equilibrium_moisture(dry_f, wet_f, humidity_pct, moisture_pct, allowance_pct):
    dry_c, wet_c = units.c_from_f(dry_f), units.c_from_f(wet_f)
    humidity = air.relative_humidity_pct(dry_c, wet_c)
    assert wood.equilibrium_moisture_pct(dry_c, humidity) == pytest.approx(moisture_pct, abs=allowance_pct)
    if humidity_pct is not None:
        assert humidity == pytest.approx(humidity_pct, abs=1.5)  # printed whole


def test_vapour_pressure_of_a_kiln():
    """Saturation pressure at 150 °F is 192.5 mmHg (check value in the reference, ASHRAE form); 1 mmHg = 133.322 Pa."""
    assert air.saturation_pressure_pa(units.c_from_f(150)) / 133.322 == pytest.approx(192.5, abs=0.05)


@given(st.floats(-20, 100), st.floats(0, 100), st.floats(70_000, 105_000))
def test_wet_bulb_and_humidity_are_inverse(dry_bulb_c, humidity_pct, pressure_pa):
    if air.saturation_pressure_pa(dry_bulb_c) * humidity_pct / 100 >= 0.9 * pressure_pa:
        return
    wet = air.wet_bulb_c(dry_bulb_c, humidity_pct, pressure_pa)
    assert wet <= dry_bulb_c + 1e-9
    back = air.relative_humidity_pct(dry_bulb_c, wet, pressure_pa)
    assert back == pytest.approx(humidity_pct, abs=1e-5)


@given(st.floats(-20, 90), st.floats(1, 100))
def test_dew_point_air_is_saturated(temperature_c, humidity_pct):
    dew_point = air.dew_point_c(temperature_c, humidity_pct)
    vapour_pa = air.saturation_pressure_pa(temperature_c) * humidity_pct / 100
    if dew_point >= -40:
        assert air.saturation_pressure_pa(dew_point) == pytest.approx(vapour_pa, rel=2e-4)


def test_arrays_equal_scalars_and_broadcast():
    dry, humidity = np.array([[10.0], [40.0]]), np.array([30.0, 60.0, 90.0])
    whole = air.wet_bulb_c(dry, humidity)
    assert whole.shape == (2, 3)
    assert whole[1, 2] == air.wet_bulb_c(40.0, 90.0)
    assert air.humidity_ratio(dry, humidity)[0, 1] == air.humidity_ratio(10.0, 60.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: air.saturation_pressure_pa([20, 130]), "temperature 130 °C is outside -40 to 120 °C"),
        (lambda: air.humidity_ratio(20, 101), "relative humidity 101 % is outside 0 to 100 %"),
        (lambda: air.humidity_ratio(20, float("nan")), "relative humidity nan % is outside 0 to 100 %"),
        (lambda: air.humidity_ratio(20, 50, 20_000), "air pressure 20000 Pa is outside 40000 to 110000 Pa"),
        (lambda: air.humidity_ratio(110, 100), "vapour pressure 143384 Pa is outside 0 to 101325 Pa"),
        (lambda: air.relative_humidity_pct(20, 25), "wet bulb 25 °C is above the dry bulb 20 °C"),
        (lambda: air.relative_humidity_pct(60, 10), "wet bulb 10 °C is too low for dry bulb 60 °C"),
        (lambda: air.dew_point_c(20, 0), "relative humidity 0 % is outside 1 to 100 %"),
        (lambda: air.pressure_pa(9000), "altitude 9000 m is outside -500 to 5000 m"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
