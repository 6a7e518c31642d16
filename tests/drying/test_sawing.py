"""Sawing sizes and their inverse: handbook figures, a published lumber standard, and laws of chance."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from drying import wood

SIZES = (
    st.floats(5, 400),
    st.floats(0, 15),
    st.floats(0, 120),
    st.floats(0, 5),
    st.floats(0, 3),
    st.sampled_from([28.0, 30.0]),
)


@given(*SIZES)
def test_finished_size_inverts_sawing_size(finished, shrinkage, moisture, planing, deviation, start):
    allowances = (shrinkage, moisture, planing, deviation)
    sawn = wood.sawing_size_mm(finished, *allowances, start_pct=start)
    assert wood.finished_size_mm(sawn, *allowances, start_pct=start) == pytest.approx(finished, rel=1e-9)
    assert sawn >= finished


@given(*SIZES)
def test_sawing_size_inverts_finished_size(sawn, shrinkage, moisture, planing, deviation, start):
    allowances = (shrinkage, moisture, planing, deviation)
    try:
        finished = wood.finished_size_mm(sawn, *allowances, start_pct=start)
    except ValueError as refused:
        assert "too small" in str(refused)
        assert (sawn - deviation) * (1 - shrinkage / 100) < 2 * planing + 1e-6
    else:
        assert wood.sawing_size_mm(finished, *allowances, start_pct=start) == pytest.approx(sawn, rel=1e-6)


@given(st.floats(10, 400), st.floats(1, 15), st.floats(0, 28), st.floats(0.1, 2))
def test_drier_yields_less_and_a_thicker_saw_cut_more(sawn, shrinkage, moisture, more):
    drier, wetter = wood.finished_size_mm(sawn, shrinkage, [moisture, moisture + more])
    assert drier < wetter
    assert wood.finished_size_mm(sawn + more, shrinkage, moisture) > drier


def test_sawing_by_the_worked_example():
    """Worked example 9.1 (WH eq. 4-7): 300 mm flat-sawn beech loses 26.2 mm to 8 %; so 273.8 mm wants 300 sawn."""
    assert wood.sawing_size_mm(300 - 26.18, 11.9, 8) == pytest.approx(300, abs=0.01)
    assert wood.finished_size_mm(300, 11.9, 8) == pytest.approx(273.8, abs=0.05)
    # With 2 mm each side and 1 mm of saw: (301 - 1) less its shrinkage, less 4.
    assert wood.finished_size_mm(301, 11.9, 8, 2, 1) == pytest.approx(269.8, abs=0.05)


@pytest.mark.parametrize(
    ("green_inch", "dry_inch", "slope", "start"),
    [
        (1.5625, 1.5, 5.062, 5.062 / 0.181),
        (3.5625, 3.5, 6.031, 6.031 / 0.215),
        (5.625, 5.5, 6.031, 6.031 / 0.215),
        (7.5, 7.25, 6.031, 6.031 / 0.215),
        (9.5, 9.25, 6.031, 6.031 / 0.215),
    ],
)
def test_green_sizes_of_the_lumber_standard_yield_its_dry_ones(green_inch, dry_inch, slope, start):
    """American Softwood Lumber Standard PS 20, green and dry (19 %) sizes of dimension lumber (recalled), with the
    shrinkage of Green, FPL-RP-489 (read): the dry size comes out, or up to 3 % more, never 0.5 % less."""
    yields = wood.finished_size_mm(green_inch * 25.4, slope, 19, start_pct=start) / 25.4
    assert -0.005 < yields / dry_inch - 1 < 0.03


def test_grain_sets_which_shrinkage_counts():
    """Wood Handbook ch. 4: flat-sawn width is tangential, thickness radial (worked example 9.1), quarter the reverse;
    red oak R 4.0, T 8.6 (table 4-3)."""
    found = {
        (grain, side): float(wood.grain_shrinkage_pct(4.0, 8.6, grain, side))
        for grain in wood.GRAINS
        for side in wood.DIMENSIONS
    }
    assert found == {
        ("flat", "thickness"): 4.0,
        ("flat", "width"): 8.6,
        ("quarter", "thickness"): 8.6,
        ("quarter", "width"): 4.0,
        ("mixed", "thickness"): pytest.approx(6.3),
        ("mixed", "width"): pytest.approx(6.3),
    }
    assert wood.grain_shrinkage_pct([4, 5], 8.6, "flat").shape == (2,)


@given(st.floats(0, 10), st.floats(0, 10))
def test_mixed_grain_lies_between(radial, tangential):
    flat, quarter, mixed = (float(wood.grain_shrinkage_pct(radial, tangential, grain)) for grain in wood.GRAINS)
    assert min(flat, quarter) <= mixed <= max(flat, quarter)


def test_saw_deviation_leaves_the_undersize_asked_for():
    """By chance: of boards whose sizes stray so, 5 % fall short of the size less the allowance; 1.645 and 2.326 sd."""
    assert wood.saw_deviation_mm(0.3, 0.4) == pytest.approx(0.5 * 1.6449, abs=1e-4)
    assert wood.saw_deviation_mm(0.0, 1.0, 1.0) == pytest.approx(2.3263, abs=1e-4)
    allowed = float(wood.saw_deviation_mm(0.3, 0.4, 10))
    quantiles = stats.norm.ppf((np.arange(500) + 0.5) / 500)
    sizes = 30 + 0.3 * quantiles[:, None] + 0.4 * quantiles[None, :]
    assert np.mean(sizes < 30 - allowed) == pytest.approx(0.10, abs=0.002)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: wood.finished_size_mm(10, 8, 8, 6, 0), "sawn size 10 mm is 2.6 mm too small"),
        (lambda: wood.finished_size_mm(-1, 8, 8), "sawn size -1 mm"),
        (lambda: wood.grain_shrinkage_pct(4, 8, "rift"), "grain 'rift'"),
        (lambda: wood.grain_shrinkage_pct(40, 8), "radial shrinkage 40 %"),
        (lambda: wood.saw_deviation_mm(-1, 0), "deviation between boards -1 mm"),
        (lambda: wood.saw_deviation_mm(1, 0, 60), "share of undersize 60 %"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
