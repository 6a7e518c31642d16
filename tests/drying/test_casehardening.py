"""Stress tests by geometry and by the trade's reading of them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import casehardening


@pytest.mark.parametrize("radius_mm", [500, 2000])
@pytest.mark.parametrize("width_mm", [50, 75, 150, 200])
def test_gap_scales_as_two_arcs_do(radius_mm, width_mm):
    """Two halves bent to circles that touch at their ends, or in the middle: the gap is twice the exact height."""

    def gap(width):
        return 2 * radius_mm * (1 - np.cos(width / 2 / radius_mm))

    assert casehardening.gap_on_100_mm(gap(width_mm), width_mm) == pytest.approx(gap(100), rel=0.01)


@given(st.lists(st.floats(0, 20), min_size=1, max_size=20), st.floats(0.1, 3))
def test_a_larger_gap_is_never_a_better_class(gaps, more):
    order = ["exclusive", "quality", "standard", None]
    first, second = (casehardening.gap_class(np.add(gaps, extra), 100).gap_class for extra in (0, more))
    assert order.index(first) <= order.index(second)


def test_gap_classes():
    """European Drying Group (recalled): 1, 2, 3 mm for nine tenths of the slices."""
    found = casehardening.gap_class([0.5] * 9 + [2.5], 100)
    assert (found.gap_class, found.largest_mm, found.mean_mm) == ("exclusive", 2.5, pytest.approx(0.7))
    assert casehardening.gap_class([0.5] * 8 + [2.5] * 2, 100).gap_class == "standard"
    assert casehardening.gap_class([4], 100).gap_class is None
    assert casehardening.gap_class([4], 200).gap_class == "exclusive"


def test_prongs():
    """AH-188 ch. 6 (recalled): in is case-hardened, out is reverse, straight is relieved."""
    assert casehardening.prong([20, 20, 20], [10, 20.5, 26], 100).tolist() == [
        "case_hardened",
        "stress_free",
        "reverse",
    ]


def test_core_against_shell():
    found = casehardening.gradient([12, 11, 16], [8, 8, 10])
    assert (found.mean_pct, found.largest_pct, found.verdict) == (pytest.approx(13 / 3), 6, "core_wet")
    assert found.too_steep_pct == pytest.approx(200 / 3)
    assert casehardening.gradient([8], [12.5]).verdict == "shell_wet"
    assert casehardening.gradient([9, 10], [8, 9]).verdict == "even"


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: casehardening.gap_on_100_mm(1, 20), "width of the slice 20 mm is outside 40 to 300 mm"),
        (lambda: casehardening.gap_on_100_mm(np.nan, 100), "gap nan mm"),
        (lambda: casehardening.prong(20, 400, 100), "tips apart after rest 400 mm"),
        (lambda: casehardening.gradient(300, 10), "core moisture 300 %"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
