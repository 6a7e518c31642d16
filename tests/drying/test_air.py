"""Moist air against psychrolib (same relations) and CoolProp (another theory)."""

import numpy as np
import psychrolib
import pytest

from drying import air

psychrolib.SetUnitSystem(psychrolib.SI)
STATES = [(t, rh, p) for t in (-15, -2, 3, 10, 20, 35, 60, 80) for rh in (5, 30, 65, 99) for p in (85_000, 101_325)]


@pytest.mark.parametrize(("temperature_c", "humidity_pct", "pressure_pa"), STATES)
def test_equal_to_psychrolib(temperature_c, humidity_pct, pressure_pa):
    state = (temperature_c, humidity_pct / 100, pressure_pa)
    ratio = psychrolib.GetHumRatioFromRelHum(*state)
    assert air.saturation_pressure_pa(temperature_c) == pytest.approx(
        psychrolib.GetSatVapPres(temperature_c), rel=1e-12
    )
    assert air.humidity_ratio(temperature_c, humidity_pct, pressure_pa) == pytest.approx(ratio, rel=1e-12)
    assert air.enthalpy_kj_kg(temperature_c, humidity_pct, pressure_pa) == pytest.approx(
        psychrolib.GetMoistAirEnthalpy(temperature_c, ratio) / 1000, rel=1e-12
    )
    assert air.density_kg_m3(temperature_c, humidity_pct, pressure_pa) == pytest.approx(
        psychrolib.GetMoistAirDensity(temperature_c, ratio, pressure_pa), rel=1e-12
    )


def test_wet_bulb_back_to_humidity():
    dry = np.array([5.0, 20, 43.3, 71.1, 110])
    wet = air.wet_bulb_c(dry, 40.0)
    assert air.relative_humidity_pct(dry, wet) == pytest.approx(40.0, abs=1e-9)
    assert np.all(wet < dry)
