"""What a sample proves: exact limits against published figures, other formulas, and brute counting."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special, stats

from drying import certainty


def test_no_failure_in_n_is_the_rule_of_three():
    """0 of n failing: upper limit 1 - 0.05^(1/n), about 3/n (the rule of three; Clopper-Pearson's closed form)."""
    for n in (10, 45, 100):
        found = certainty.share_interval(n, n, confidence_pct=90)
        assert found.low == pytest.approx(100 * 0.05 ** (1 / n), abs=1e-9)
        assert found.high == 100


def test_the_interval_solves_the_binomial_tails():
    """Clopper-Pearson by its definition, solved on the regularised incomplete beta function."""
    found = certainty.share_interval(19, 20)
    low = optimize.brentq(lambda p: special.betainc(19, 2, p) - 0.025, 1e-6, 1 - 1e-6)
    high = optimize.brentq(lambda p: special.betainc(20, 1, p) - 0.975, 1e-6, 1 - 1e-9)
    assert (found.low, found.high) == pytest.approx((100 * low, 100 * high), abs=1e-6)


def test_pieces_to_prove():
    """Success-run theorem: n = ln(1 - C)/ln(R); 59 for 95/95, 29 for 95/90, 45 for 95 % sure of 93.5 %."""
    assert [certainty.pieces_to_prove(share) for share in (95, 90, 93.5)] == [59, 29, 45]
    # Nonparametric tolerance limits, 95/95 with one outside: 93; with two: 124 (tables of order statistics, recalled).
    assert [certainty.pieces_to_prove(95, outside=k) for k in (1, 2)] == [93, 124]


@given(st.integers(0, 6), st.sampled_from([80.0, 90.0, 93.5]), st.sampled_from([80.0, 95.0]))
def test_pieces_to_prove_is_the_least_that_does(outside, share, confidence):
    n = certainty.pieces_to_prove(share, outside=outside, confidence_pct=confidence)
    assert certainty.sure_at_least_pct(n - outside, n, share) >= confidence - 1e-9
    if n - 1 > outside:
        assert certainty.sure_at_least_pct(n - 1 - outside, n - 1, share) < confidence


def test_a_small_lots_interval_by_counting_every_draw():
    """A lot of 12, 5 measured, 4 inside: which lots would show so few or so many with 2.5 %, by listing the draws."""
    from itertools import combinations

    fitting = []
    for good in range(4, 12):
        shown = [sum(piece < good for piece in draw) for draw in combinations(range(12), 5)]
        if np.mean(np.array(shown) <= 4) > 0.025 and np.mean(np.array(shown) >= 4) > 0.025:
            fitting.append(good)
    found = certainty.share_interval(4, 5, lot_pieces=12)
    assert (found.low, found.high) == pytest.approx((100 * fitting[0] / 12, 100 * fitting[-1] / 12))


@given(st.integers(1, 60), st.data())
def test_a_huge_lot_is_no_lot(pieces, data):
    inside = data.draw(st.integers(0, pieces))
    plain = certainty.sure_at_least_pct(inside, pieces, 93.5)
    assert certainty.sure_at_least_pct(inside, pieces, 93.5, lot_pieces=100_000) == pytest.approx(plain, abs=0.2)


def test_the_interval_covers_as_often_as_it_says():
    """Exact coverage over all outcomes, for lots of unknown size: never under 95 %."""
    for share in (0.5, 0.8, 0.935, 0.99):
        covered = 0.0
        for inside in range(21):
            found = certainty.share_interval(inside, 20)
            if found.low <= 100 * share <= found.high:
                covered += stats.binom.pmf(inside, 20, share)
        assert covered >= 0.95


def test_mean_interval_against_scipys():
    values = np.array([11.0, 12.5, 12.0, 13.1, 11.7])
    low, high = stats.t.interval(0.9, 4, values.mean(), stats.sem(values))
    found = certainty.Mean.of(values).interval(90)
    assert (found.low, found.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: certainty.share_interval(5, 4), "pieces inside the limits 5"),
        (lambda: certainty.share_interval(1, 0), "pieces measured 0"),
        (lambda: certainty.sure_at_least_pct(3, 4, 100), "share asked for 100 %"),
        (lambda: certainty.pieces_to_prove(93.5, confidence_pct=20), "confidence 20 %"),
        (lambda: certainty.Mean.of(np.array([1.0, 2.0])).sure_between_pct(3, 2), "swapped"),
    ],
)
def test_out_of_range_is_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
