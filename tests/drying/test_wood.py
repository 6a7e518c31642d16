"""Wood and water against the Wood Handbook's tables and the reference's worked examples."""

import csv
from pathlib import Path

import chemics
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import wood

TABLES = Path(__file__).parent / "published"


def test_equilibrium_moisture_meets_every_cell_of_the_handbook_table():
    """Wood Handbook (FPL-GTR-282, 2021) table 4-2, p. 4-4: 253 of its cells, the hot ones from memory (flagged)."""
    with (TABLES / "emc_table_4_2.csv").open(encoding="utf-8") as file:
        cells = np.array(
            [[float(row[k]) for k in ("temp_C", "rh_percent", "emc_percent")] for row in csv.DictReader(file)]
        )
    assert len(cells) == 253
    ours = wood.equilibrium_moisture_pct(cells[:, 0], cells[:, 1])
    # 0.05 is the table's rounding; its °C are rounded from °F as well
    assert np.abs(ours - cells[:, 2]).max() <= 0.06


@pytest.mark.parametrize(
    ("temperature_c", "humidity_pct", "published_pct", "within"),
    [  # worked examples 3.1 to 3.5; 3.2 is an independent implementation's figure
        (20, 65, 12.00, 0.005),
        (20, 50, 9.271141, 5e-7),
        (20, 75, 14.45, 0.005),
        (21.1, 75, 14.41, 0.005),
        (21.1, 85, 17.95, 0.005),
        # FPL-GTR-190 ch. 4, as quoted in the design note: 6.2, 9.2, 12.0, 16.0
        (21.1, 30, 6.2, 0.05),
        (21.1, 50, 9.2, 0.05),
        (21.1, 65, 12.0, 0.05),
        (21.1, 80, 16.0, 0.05),
    ],
)
def test_equilibrium_moisture_worked_examples(temperature_c, humidity_pct, published_pct, within):
    assert wood.equilibrium_moisture_pct(temperature_c, humidity_pct) == pytest.approx(published_pct, abs=within)


def test_equilibrium_moisture_agrees_with_the_fahrenheit_form():
    """Wood Handbook eq. (4-5) with the °F coefficients: a separate set of figures for the same relation."""
    celsius, humidity = np.meshgrid(np.linspace(0, 70, 36), np.linspace(5, 95, 19))
    t, h = celsius * 1.8 + 32, humidity / 100
    kh = (0.791 + 0.000463 * t - 8.44e-7 * t**2) * h
    k1, k2 = 6.34 + 0.000775 * t - 9.35e-5 * t**2, 1.09 + 0.0284 * t - 9.04e-5 * t**2
    top, bottom = k1 * kh + 2 * k1 * k2 * kh**2, 1 + k1 * kh + k1 * k2 * kh**2
    fahrenheit = 1800 / (330 + 0.452 * t + 0.00415 * t**2) * (kh / (1 - kh) + top / bottom)
    assert np.abs(wood.equilibrium_moisture_pct(celsius, humidity) - fahrenheit).max() < 0.02


def test_humidity_that_holds_a_moisture_content():
    """Worked example 3.6."""
    assert wood.humidity_for_moisture_pct(20, [8, 12, 16]) == pytest.approx([41.8, 65.0, 79.9], abs=0.05)


@given(st.floats(-20, 100), st.floats(0, 100))
def test_humidity_is_the_inverse_of_equilibrium_moisture(temperature_c, humidity_pct):
    held = wood.equilibrium_moisture_pct(temperature_c, humidity_pct)
    assert wood.humidity_for_moisture_pct(temperature_c, held) == pytest.approx(humidity_pct, abs=1e-6)


def test_clamping_must_be_asked_for():
    assert wood.equilibrium_moisture_pct(-40, 100, clamped=True) == wood.equilibrium_moisture_pct(-20, 97)
    assert wood.equilibrium_moisture_pct(20, 0, clamped=True) == wood.equilibrium_moisture_pct(20, 3)


def test_shrinkage_worked_examples():
    """Worked example 9.1 (Wood Handbook eq. 4-7), beech: 300 mm flat-sawn loses 26.2 mm, 27 mm thickness 1.09 mm."""
    assert 300 - wood.shrunk_mm(300, 11.9, 8) == pytest.approx(26.2, abs=0.05)
    assert 27 - wood.shrunk_mm(27, 5.5, 8) == pytest.approx(1.09, abs=0.005)
    assert wood.shrunk_mm(300, 11.9, [30, 80]) == pytest.approx([300, 300])


def test_heat_capacity_equals_an_independent_library():
    """chemics.cp_wood (Wood Handbook eq. 4-16a to 4-18) and worked example 8.1."""
    assert wood.heat_capacity_j_kg_k(340 - 273.15, 12) == pytest.approx(1914.6, abs=0.05)
    for kelvin in (285.0, 320.0, 370.0):
        for moisture in (0, 6, 15, 30):
            assert wood.heat_capacity_j_kg_k(kelvin - 273.15, moisture) == pytest.approx(
                1000 * chemics.cp_wood(moisture, kelvin)
            )
