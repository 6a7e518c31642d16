"""Exact conversions."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import units

FINITE = st.floats(-1e6, 1e6)


def test_definitions():
    """Board foot 144 in3, 0.002359737 m3; 1 m3 is 423.776 board feet (reference volume_units, exact or computed)."""
    assert units.m3_from_board_feet(1) == pytest.approx(0.002359737216, rel=1e-12)
    assert units.board_feet_from_m3(1) == pytest.approx(423.776, abs=5e-4)
    assert units.m3_from_board_feet(1000) == pytest.approx(2.359737, abs=5e-7)
    assert units.mm_from_inch([1, 4]) == pytest.approx([25.4, 101.6])
    assert units.mm_from_feet(1) == pytest.approx(units.mm_from_inch(12), rel=1e-15)
    assert units.kg_from_pounds(1) == 0.45359237


def test_temperatures():
    """Ice, steam and the reference's 120 °F = 48.9 °C, 80 °F = 26.7 °C."""
    assert units.c_from_f([32, 212]).tolist() == [0, 100]
    assert units.c_from_f([120, 80]) == pytest.approx([48.9, 26.7], abs=0.05)
    assert units.c_from_f(-40) == -40
    assert units.k_from_f_difference(18) == 10


ROUND_TRIPS = [
    (units.mm_from_inch, units.inch_from_mm),
    (units.mm_from_feet, units.feet_from_mm),
    (units.m3_from_board_feet, units.board_feet_from_m3),
    (units.kg_from_pounds, units.pounds_from_kg),
    (units.c_from_f, units.f_from_c),
]


@pytest.mark.parametrize(("there", "back"), ROUND_TRIPS, ids=lambda function: function.__name__)
@given(value=FINITE)
def test_round_trips(there, back, value):
    assert back(there(value)) == pytest.approx(value, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("there", [there for there, _ in ROUND_TRIPS], ids=lambda function: function.__name__)
def test_arrays_keep_their_shape_and_order(there):
    values = np.array([[1.0, 2.0], [3.0, 4.0]])
    assert there(values).shape == (2, 2)
    assert all(low < high for low, high in pairwise(there(values).ravel()))
