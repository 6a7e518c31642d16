"""A run's account against its forecast, by hand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying.outcome import Account, deviations


def test_by_hand():
    forecast = Account(10, 800, 4, 684, price_per_kwh=0.25, cost_per_day=20)
    found = Account(12, 1000, 4, 700, price_per_kwh=0.25, cost_per_day=20)
    assert forecast.cost == 400
    assert forecast.cost_per_m3 == 100
    more = {one.name: one.more_pct for one in deviations(forecast, found)}
    assert more["days"] == pytest.approx(20)
    assert more["electricity_kwh"] == pytest.approx(25)
    assert more["cost_per_m3"] == pytest.approx(100 * (490 / 400 - 1))
    assert more["kwh_per_kg"] == pytest.approx(100 * ((1000 / 700) / (800 / 684) - 1))


@given(st.floats(1, 100), st.floats(1, 5000), st.floats(0.1, 100), st.floats(1, 5000))
def test_as_forecast_is_no_deviation(days, kwh, volume, water):
    account = Account(days, kwh, volume, water, 0.3, 10)
    assert [one.more_pct for one in deviations(account, account)] == pytest.approx([0] * 4)


def test_nothing_forecast_has_no_ratio():
    none = Account(10, 0, 4, 0)
    assert [one.more_pct for one in deviations(none, Account(10, 5, 4, 0))] == [pytest.approx(0), None, None, None]
    assert none.kwh_per_kg is None


@pytest.mark.parametrize("bad", [{"days": 0}, {"electricity_kwh": float("nan")}, {"volume_m3": -1}, {"water_kg": 1e9}])
def test_out_of_range_is_refused_by_name(bad):
    good = {"days": 10, "electricity_kwh": 800, "volume_m3": 4, "water_kg": 684}
    with pytest.raises(ValueError, match=f"{next(iter(bad))} .* is outside"):
        Account(**good | bad)
