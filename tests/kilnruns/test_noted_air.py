"""The humidity of air that was noted, at the kiln's height above the sea."""

import pytest

from drying.air import pressure_pa, relative_humidity_pct
from kilnruns.closing.noted_air import humidity_pct


def test_what_was_noted_as_humidity_stands():
    assert humidity_pct(50, None, 62.0, 900) == 62.0


@pytest.mark.parametrize("altitude_m", [0, 800, 2000])
def test_two_bulbs_tell_it_at_the_kilns_height(altitude_m):
    theirs = float(relative_humidity_pct(54, 47, float(pressure_pa(altitude_m))))
    assert humidity_pct(54, 47, None, altitude_m) == theirs


def test_the_same_bulbs_are_damper_air_higher_up():
    # the psychrometer equation: e = e_s(wet) - A·p·(dry - wet), so that thinner air takes off less
    assert humidity_pct(54, 40, None, 2000) > humidity_pct(54, 40, None, 0) + 1


def test_crossed_bulbs_are_full_air_and_impossible_ones_none():
    assert humidity_pct(40, 40.3, None, 0) == pytest.approx(100)
    assert humidity_pct(60, 10, None, 0) is None
    assert humidity_pct(60, None, None, 0) is None
    assert humidity_pct(None, 30, None, 0) is None
