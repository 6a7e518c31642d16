"""Wood and water against the Wood Handbook's tables and worked examples; chemics for thermal figures."""

import csv
from pathlib import Path

import chemics
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import wood

PUBLISHED = Path(__file__).parent / "published"


def test_equilibrium_moisture_meets_every_cell_of_the_handbook_table():
    """Wood Handbook (FPL-GTR-282, 2021) table 4-2, p. 4-4: 253 of its cells, the hot ones from memory (flagged)."""
    with (PUBLISHED / "emc_table_4_2.csv").open(encoding="utf-8") as file:
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
        (20, 65, 12.00, 0.006),
        (20, 50, 9.271141, 5e-7),
        (20, 75, 14.45, 0.006),
        (21.1, 75, 14.41, 0.006),
        (21.1, 85, 17.95, 0.006),
        # TräGuiden, sorption of softwood at 20 °C, via a public note: whole figures, where drying and wetting meet
        (20, 80, 16, 0.6),
        (20, 85, 18, 0.6),
        (20, 90, 21, 0.6),
        (20, 95, 24, 0.6),
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
    assert np.abs(wood.equilibrium_moisture_pct(celsius, humidity) - fahrenheit).max() <= 0.014


def test_humidity_that_holds_a_moisture_content():
    """Worked example 3.6."""
    assert wood.humidity_for_moisture_pct(20, [8, 12, 16]) == pytest.approx([41.8, 65.0, 79.9], abs=0.05)


@given(st.floats(-20, 100), st.floats(0, 100))
def test_humidity_is_the_inverse_of_equilibrium_moisture(temperature_c, humidity_pct):
    held = wood.equilibrium_moisture_pct(temperature_c, humidity_pct)
    assert wood.humidity_for_moisture_pct(temperature_c, held) == pytest.approx(humidity_pct, abs=1e-6)


@given(st.floats(-20, 100), st.floats(0, 99))
def test_equilibrium_moisture_rises_with_humidity(temperature_c, humidity_pct):
    low, high = wood.equilibrium_moisture_pct(temperature_c, [humidity_pct, humidity_pct + 1])
    assert high > low >= 0


def test_clamping_must_be_asked_for():
    assert wood.equilibrium_moisture_pct(-40, 100, clamped=True) == wood.equilibrium_moisture_pct(-20, 97)
    assert wood.equilibrium_moisture_pct(20, 0, clamped=True) == wood.equilibrium_moisture_pct(20, 3)
    assert wood.equilibrium_moisture_pct(20, 50, clamped=True) == wood.equilibrium_moisture_pct(20, 50)


def test_fibre_saturation():
    """Wood Handbook p. 4-2: about 30 % at 20 °C; 60 °C gives 26 (Stamm/Siau slope, from memory)."""
    assert wood.fibre_saturation_pct([20, 60]) == pytest.approx([30, 26])


def test_shrinkage_worked_examples():
    """Worked example 9.1 (Wood Handbook eq. 4-7), beech: 300 mm flat-sawn loses 26.2 mm, 27 mm thickness 1.09 mm."""
    assert 300 - wood.shrunk_mm(300, 11.9, 8) == pytest.approx(26.2, abs=0.05)
    assert 27 - wood.shrunk_mm(27, 5.5, 8) == pytest.approx(1.09, abs=0.005)
    assert wood.shrunk_mm(300, 11.9, [30, 80]) == pytest.approx([300, 300])


def test_softwood_lumber_shrinkage():
    """Worked example 11.1: Green, FPL-RP-489, S = 6.031 - 0.215 M and 5.062 - 0.181 M; at 15 % 2.81 and 2.35 %."""
    width = 100 - wood.shrunk_mm(100, 6.031, 15, start_pct=6.031 / 0.215)
    thickness = 100 - wood.shrunk_mm(100, 5.062, 15, start_pct=5.062 / 0.181)
    assert (width, thickness) == pytest.approx((2.81, 2.35), abs=0.005)


@pytest.mark.parametrize(
    ("size_mm", "coefficient", "from_pct", "to_pct", "published_mm", "within"),
    [
        (150, 0.00369, 8, 12, 2.21, 0.005),  # worked example 11.2: red oak, Wood Handbook table 13-5 (read)
        (232, 0.00112, 8, 11, 0.780, 0.0005),  # 11.3: white fir, Wood Handbook ch. 13, from memory
        (200, 0.0039, 16, 10, -4.7, 0.05),  # 11.5: spruce 0.39 % per %, a German timber-trade guide (read)
    ],
)
def test_movement_worked_examples(size_mm, coefficient, from_pct, to_pct, published_mm, within):
    assert wood.moved_mm(size_mm, coefficient, from_pct, to_pct) == pytest.approx(published_mm, abs=within)


def test_change_coefficient_worked_example():
    """Worked example 11.4: beech 11.9 %, black cherry 7.1 % give what Wood Handbook table 13-5 prints."""
    assert wood.change_coefficient([11.9, 7.1]) == pytest.approx([0.00431, 0.00248], abs=5e-6)


@given(
    st.floats(5, 400),
    st.floats(0, 15),
    st.floats(0, 40),
    st.floats(0, 5),
    st.floats(0, 3),
    st.sampled_from([28.0, 30.0]),
)
def test_sawing_size_is_the_inverse_of_shrinkage(finished, shrinkage, moisture, planing, deviation, start):
    sawn = wood.sawing_size_mm(finished, shrinkage, moisture, planing, deviation, start_pct=start)
    dried = wood.shrunk_mm(sawn - deviation, shrinkage, moisture, start_pct=start)
    assert dried - 2 * planing == pytest.approx(finished, rel=1e-9)


def test_green_density_cells():
    """Wood Handbook table 4-6a, density by specific gravity and MC, cells from memory: G x 1000 x (1 + MC/100)."""
    basic, moisture = np.array([300, 500, 500, 560]), np.array([4, 12, 60, 80])
    assert wood.mass_kg(1.0, basic, moisture) == pytest.approx([312, 560, 800, 1008])


def test_density_at_a_moisture_content():
    """Reference check of Wood Handbook eq. (4-9): G_b 0.54, S0 12.3, 10 % gives G 0.588 (that of an open library)."""
    assert wood.density_kg_m3(540, 12.3, 10) / 1.10 == pytest.approx(588, abs=0.5)


def test_water_to_remove():
    """Worked example 14.1: 4 m3 of 380 kg/m3, 60 to 15 %, is 684 kg; a board foot of SG 0.55 loses 0.013 kg a point."""
    assert wood.water_kg(4, 380, 60, 15) == pytest.approx(684)
    assert wood.water_kg(0.002359737, 550, 30, 29) == pytest.approx(0.0130, abs=5e-5)
    assert wood.water_kg(4, 380, 15, 60) == pytest.approx(-684)


def test_heat_capacity_equals_an_independent_library():
    """chemics.cp_wood (Wood Handbook eq. 4-16a to 4-18), and worked example 8.1: 12 % at 340 K, 1.9146 kJ/(kg K)."""
    assert wood.heat_capacity_j_kg_k(340 - 273.15, 12) == pytest.approx(1914.6, abs=0.05)
    for kelvin in (285.0, 320.0, 370.0):
        for moisture in (0, 6, 15, 30):
            theirs = 1000 * chemics.cp_wood(moisture, kelvin)
            assert wood.heat_capacity_j_kg_k(kelvin - 273.15, moisture) == pytest.approx(theirs, rel=1e-9)


def test_heat_capacity_of_soaked_wood_nears_that_of_water():
    above = wood.heat_capacity_j_kg_k(50, [30, 31, 100, 400])
    assert np.all(np.diff(above) > 0)
    assert above[-1] < 4180


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: wood.equilibrium_moisture_pct(20, 120), "relative humidity 120 % is outside 0 to 100 %"),
        (lambda: wood.equilibrium_moisture_pct([20, -25], 50), "temperature -25 °C is outside -20 to 100 °C"),
        (lambda: wood.humidity_for_moisture_pct(20, 35), "moisture content 35 % is outside 0 to 28.8 %"),
        (lambda: wood.fibre_saturation_pct(-5), "temperature -5 °C is outside 0 to 100 °C"),
        (lambda: wood.shrunk_mm(100, 50, 10), "total shrinkage 50 % is outside 0 to 30 %"),
        (lambda: wood.shrunk_mm(100, 5, -1), "moisture content -1 % is outside 0 to 400 %"),
        (lambda: wood.sawing_size_mm(100, 5, 8, -1), "planing allowance each side -1 mm is outside 0 to 100 mm"),
        (lambda: wood.mass_kg(1, 0.56, 30), "basic density 0.56 kg/m³ is outside 50 to 1300 kg/m³"),
        (lambda: wood.water_kg(1, 560, 500, 30), "moisture content before 500 % is outside 0 to 400 %"),
        (lambda: wood.heat_capacity_j_kg_k(0, 12), "temperature 0 °C is outside 7 to 147 °C"),
        (lambda: wood.moved_mm(100, 0.003, 8, 30), "moisture content after 30 % is outside 5 to 20 %"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()


CAL_MOL = 4.184 / 0.0180153  # J/kg of water


@pytest.mark.parametrize(("moisture_pct", "cal_mol"), [(12, 939), (20, 306)])
def test_sorption_heat_sums_up_the_published_differential_heat(moisture_pct, cal_mol):
    """Nelson's model of fuel moisture (read, several open implementations agree): check values of physics.csv."""
    less, more = wood.sorption_heat_j_kg([moisture_pct - 0.01, moisture_pct + 0.01])
    assert (less - more) / 0.0002 == pytest.approx(cal_mol * CAL_MOL, rel=0.002)


@pytest.mark.parametrize("temperature_c", [50, 60, 70])
def test_sorption_heat_is_near_clausius_clapeyrons_of_the_handbooks_equation(temperature_c):
    """Another road to it: how WH eq. (4-5) shifts with temperature, q = -R d ln h / d(1/T), at kilns' temperatures and
    8 to 20 %. Two publications that know nothing of each other: at most a quarter apart."""
    for moisture in (8, 10, 12, 15, 20):
        humidity = [float(wood.humidity_for_moisture_pct(temperature_c + k, moisture)) for k in (-1, 1)]
        kelvin = temperature_c + 273.15
        heat = -8.314462 * np.log(humidity[1] / humidity[0]) / (1 / (kelvin + 1) - 1 / (kelvin - 1)) / 0.0180153
        less, more = wood.sorption_heat_j_kg([moisture - 0.01, moisture + 0.01])
        assert (less - more) / 0.0002 == pytest.approx(heat, rel=0.25)


def test_wetting_oven_dry_wood_gives_off_what_calorimeters_measured():
    """Heat of wetting of oven-dry wood, 15 to 20 cal/g (Stamm 1964, from memory)."""
    assert 15 <= wood.sorption_heat_j_kg(0) / 4184 <= 20.5
    assert wood.sorption_heat_j_kg(60) < 30
