"""Where, how deep and how many: the clauses at hand, each with whether it was read or recalled."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import measuring


def test_depth_is_three_tenths():
    """EN 13183-2 clause 7 (recalled): 0.3 x thickness."""
    assert measuring.pin_depth_mm([25, 50]) == pytest.approx([7.5, 15])
    assert measuring.core_depth_mm(50) == 25


@given(st.floats(600, 8000), st.floats(60, 400), st.integers(1, 5))
def test_points_keep_off_ends_and_edges(length, width, readings):
    """EN 13183-2 clause 7 (recalled): 300 mm from an end, 0.3 of the width from an edge."""
    for point in measuring.points(length, width, 27, readings=readings):
        assert 300 - 1e-6 <= point.from_end_mm <= length - 300 + 1e-6
        assert min(point.from_edge_mm, width - point.from_edge_mm) == pytest.approx(0.3 * width)
        assert point.depth_mm == pytest.approx(8.1)


def test_number_and_place_of_readings():
    assert [len(measuring.points(length, 150, 27)) for length in (500, 1900, 3000, 5000)] == [1, 1, 2, 3]
    assert [point.from_end_mm for point in measuring.points(5000, 150, 27)] == [300, 2500, 4700]
    assert measuring.points(500, 150, 27, readings=3)[0].from_end_mm == 250


def test_slice_of_a_short_board_comes_from_its_middle():
    """EN 13183-1 clause 5 (read in a preview)."""
    assert measuring.slice_from_end_mm([400, 600, 3000]).tolist() == [200, 300, 300]


def test_sample_sizes():
    """ISO 2859-1, general inspection level II (recalled): letters A 2, D 8, G 32, J 80."""
    lots = [1, 2, 8, 9, 26, 150, 151, 501, 10_000]
    assert measuring.pieces_to_measure(lots).tolist() == [1, 2, 2, 3, 8, 20, 32, 80, 200]
    assert (np.diff(measuring.pieces_to_measure(np.arange(1, 3000))) >= 0).all()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: measuring.pin_depth_mm(5), "thickness 5 mm is outside 10 to 200 mm"),
        (lambda: measuring.points(3000, 150, 27, readings=0), "readings a piece 0"),
        (lambda: measuring.pieces_to_measure(0), "pieces in the lot 0"),
        (lambda: measuring.slice_from_end_mm(np.nan), "length nan mm"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
