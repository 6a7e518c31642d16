"""The year's air: monthly means kept, equilibria against typical-year weather, and what an exposure changes."""

import csv
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying.climate import EFFECTS, PRESETS, Climate, Exposure, day_of_year, equilibrium_pct, lowest_equilibrium_pct

PUBLISHED = Path(__file__).parent / "published"
MEANS = st.lists(st.floats(-15, 30), min_size=12, max_size=12)


def months_of(values: np.ndarray, year: int) -> list[float]:
    days = [date(year, 1, 1) + timedelta(days=i) for i in range(365)]
    return [float(np.mean([v for v, day in zip(values, days, strict=True) if day.month == m])) for m in range(1, 13)]


@given(MEANS)
def test_months_keep_their_means(temperatures):
    climate = Climate(tuple(temperatures), (60.0,) * 12)
    daily, humidity = climate.daily(date(2023, 1, 1), 365)
    assert months_of(daily, 2023) == pytest.approx(temperatures, abs=1e-9)
    assert humidity == pytest.approx(60.0)


def test_the_year_closes_without_a_jump_and_repeats():
    climate = PRESETS["cold_continental"].climate
    temperature, _ = climate.daily(date(2023, 1, 1), 3 * 365 + 1)
    usual = np.abs(np.diff(temperature)).max()
    assert abs(temperature[365] - temperature[364]) <= usual < 0.5
    assert temperature[365] == temperature[0]


def test_the_leap_day_has_the_air_of_the_day_before():
    days = [date(2024, 2, 28), date(2024, 2, 29), date(2024, 3, 1), date(2023, 12, 31), date(1899, 1, 1)]
    assert day_of_year(np.array([day.toordinal() for day in days])).tolist() == [58, 58, 59, 364, 0]


def test_equilibrium_of_monthly_means_meets_computed_typical_years():
    """Typical-year weather (TMY3, IWEC), monthly means and their EMC by Wood Handbook eq. (4-5), computed elsewhere."""
    places: dict[str, list[dict[str, str]]] = {}
    with (PUBLISHED / "outdoor_emc_monthly.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            places.setdefault(row["place"], []).append(row)
    assert len(places) == 3
    for rows in places.values():
        temperature, humidity = (tuple(float(r[k]) for r in rows) for k in ("mean_temp_C", "mean_rh_percent"))
        climate = Climate(temperature, humidity)
        for row in rows:
            ours = equilibrium_pct(climate, Exposure.OPEN_YARD, int(row["month"]))
            # 0.1 is the rounding of temperature, humidity and EMC in the table
            assert ours == pytest.approx(float(row["emc_of_monthly_means_percent"]), abs=0.1)


def test_mean_of_hourly_equilibria_is_higher_than_that_of_the_means():
    """Same table: the bias that `equilibrium_pct` warns of, so that nobody takes it for the wood's mean."""
    with (PUBLISHED / "outdoor_emc_monthly.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    above = [float(r["mean_of_hourly_emc_percent"]) - float(r["emc_of_monthly_means_percent"]) for r in rows]
    assert min(above) > -0.1
    assert np.mean(above) > 0.5


def test_lowest_equilibrium_lies_in_the_driest_season():
    climate = PRESETS["temperate_inland"].climate
    monthly = [equilibrium_pct(climate, Exposure.OPEN_YARD, month) for month in range(1, 13)]
    lowest = lowest_equilibrium_pct(climate, Exposure.OPEN_YARD)
    assert min(monthly) - 0.3 <= lowest <= min(monthly)
    assert lowest_equilibrium_pct(climate, Exposure.CLOSED_STORE) < lowest
    on_a_day = equilibrium_pct(climate, Exposure.OPEN_YARD, date(2025, 7, 15))
    assert on_a_day == pytest.approx(monthly[6], abs=0.2)


def test_every_exposure_has_its_effect_and_shelter_takes_wind():
    sheltered = [exposure for exposure in EFFECTS if not EFFECTS[exposure].rained_on]
    assert set(EFFECTS) == set(Exposure)
    surfaces = [EFFECTS[exposure].surface for exposure in sheltered]
    assert surfaces == sorted(surfaces, reverse=True)
    spreads = [EFFECTS[exposure].rate_log_sd for exposure in sheltered]
    assert spreads == sorted(spreads)


@pytest.mark.parametrize("key", PRESETS)
def test_presets_are_marked_invented_and_make_sense(key):
    preset = PRESETS[key]
    assert preset.key == key
    assert preset.note == "invented"
    low = lowest_equilibrium_pct(preset.climate, Exposure.OPEN_YARD)
    assert 6 < low < 17  # driest and dampest US places of Wood Handbook table 13-1 lie inside (from memory)


@pytest.mark.parametrize(
    ("temperature", "humidity", "said"),
    [
        ((10.0,) * 11, (70.0,) * 12, "12 monthly temperatures"),
        ((10.0,) * 12, (70.0,) * 13, "12 monthly humidities"),
        ((10.0,) * 5 + (99.0,) + (10.0,) * 6, (70.0,) * 12, "temperature of month 6"),
        ((10.0,) * 12, (0.7,) * 12, "humidity of month 1"),
    ],
)
def test_a_bad_climate_says_which_month(temperature, humidity, said):
    with pytest.raises(ValueError, match=said):
        Climate(temperature, humidity)
