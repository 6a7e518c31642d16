"""What finished stacks teach: shrunk without evidence, true with much, and never counted twice.

The model is checked against textbook forms (normal-normal mean, Gaussian conditioning written out in full) and against
synthetic yards drawn from it; better forecasts of the next stack are measured in tests/bench/bench_learning.py.
"""

from itertools import pairwise

import numpy as np
import pytest
import scipy
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drying.climate import EFFECTS, Exposure
from drying.forecasting.calibrate import TAIL, TENTH
from drying.learning import (
    FAR,
    HEAVY_TAILED,
    NINE_IN_TEN,
    Evidence,
    RunOutcome,
    Spreads,
    days_between,
    kiln_shift,
    learn,
    said_by_readings,
)

BOOK = {"larch": 0.45, "oak": 0.45, "unknown": 0.6}
PLACES = {"shed": Exposure.ROOFED_SHED, "row": Exposure.OPEN_YARD}


def larches(*deviations, sd=0.1, place="shed"):
    return [Evidence(f"{place}{i}", "larch", place, one, sd) for i, one in enumerate(deviations)]


def learned(evidence):
    return learn(evidence, BOOK, PLACES)


def test_without_evidence_the_book_stands_with_its_own_spread():
    nothing = learned([])
    for species, place in (("larch", "row"), ("unknown", "row"), ("larch", "shed")):
        shift = nothing.of(species, place)
        assert (shift.log_mean, shift.stacks, shift.factor) == (0, 0, 1)
        assert shift.next_log_sd == pytest.approx(np.hypot(BOOK[species], EFFECTS[PLACES[place]].rate_log_sd))
    assert learn([], {"larch": 0.2}, PLACES).of("larch", "row").next_log_sd == 0.2  # an owner who is sure stays so


def test_one_stack_by_hand():
    """Normal-normal: the mean is drawn towards 0 by prior variance / (prior variance + noise)."""
    spreads = Spreads()
    effects = (spreads.yard, spreads.place, spreads.species(0.45), spreads.species_in_place)
    prior = sum(sd**2 for sd in effects)  # an open row's exposure adds nothing
    noise = 0.1**2 + spreads.stack**2
    shift = learned(larches(0.4, place="row")).of("larch", "row")
    assert shift.log_mean == pytest.approx(0.4 * prior / (prior + noise))
    assert shift.log_sd == pytest.approx((prior * noise / (prior + noise)) ** 0.5)
    assert shift.stacks == 1


def test_many_stacks_are_believed():
    shift = learned(larches(*[0.3] * 400)).of("larch", "shed")
    assert shift.log_mean == pytest.approx(0.3, abs=0.005)
    assert shift.log_sd < 0.02
    assert shift.next_log_sd == pytest.approx(HEAVY_TAILED * Spreads().stack, abs=0.002)
    low, high = shift.band
    assert (low, high) == pytest.approx((shift.factor * np.exp(-NINE_IN_TEN * shift.log_sd), high))
    assert low < shift.factor < high


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.floats(-0.4, 0.4), min_size=1, max_size=12), st.floats(0.02, 0.6))
def test_the_shift_lies_between_the_book_and_the_stacks_and_more_stacks_never_widen_it(deviations, sd):
    """Of stacks so alike that none is doubted."""
    shifts = [learned(larches(*deviations[:count], sd=sd)).of("larch", "shed") for count in range(len(deviations) + 1)]
    for count, shift in enumerate(shifts[1:], 1):
        mean = np.mean(deviations[:count])
        assert min(0, mean) - 1e-12 <= shift.log_mean <= max(0, mean) + 1e-12
    widths = [shift.log_sd for shift in shifts]
    assert all(later < before for before, later in pairwise(widths))


def test_a_badly_read_stack_says_little():
    sharp, vague = (learned(larches(0.5, sd=sd)).of("larch", "shed").log_mean for sd in (0.05, 1.0))
    assert sharp > 4 * vague > 0


def test_what_is_learned_is_lent_to_likes_and_less_to_others():
    found = learned(larches(*[0.5] * 8))
    own, place, species, other = (
        found.of(*kind).log_mean for kind in (("larch", "shed"), ("oak", "shed"), ("larch", "row"), ("oak", "row"))
    )
    assert own > place > other > 0
    assert own > species > other
    assert found.of("larch").log_mean == pytest.approx(species)
    assert found.of(place="shed").log_mean == pytest.approx(place)
    assert found.of().log_mean == pytest.approx(other)
    assert [found.of(*kind).stacks for kind in (("larch", "shed"), ("oak", "shed"), (None, "shed"), ())] == [8, 0, 8, 8]
    assert found.of("unknown", "row").log_sd < 0.5
    assert found.of("oak", "shed").log_sd < found.of("oak", "row").log_sd
    assert found.of("oak", "row").next_log_sd <= 0.45


def test_the_closed_form_is_gaussian_conditioning_written_out():
    """Conditioning the joint normal of all stacks and a new one, without effects or normal equations."""
    rng = np.random.default_rng(4)
    kinds = [("larch", "shed"), ("oak", "shed"), ("larch", "row"), ("unknown", "row"), ("larch", "shed")]
    evidence = [Evidence(str(i), *kind, rng.normal(0, 0.4), rng.uniform(0.05, 0.4)) for i, kind in enumerate(kinds)]
    spreads = Spreads()

    def shared(one, other):
        value = spreads.yard**2
        if one[1] == other[1]:
            value += spreads.place**2 + EFFECTS[PLACES[one[1]]].rate_log_sd ** 2
        if one[0] == other[0]:
            value += spreads.species(BOOK[one[0]]) ** 2
        return value + (spreads.species_in_place**2 if one == other else 0)

    def conditioned(new, rows):
        noise = np.diag([rows[i].sd ** 2 + spreads.stack**2 for i in range(len(rows))])
        among = np.array([[shared((a.species, a.place), (b.species, b.place)) for b in rows] for a in rows]) + noise
        across = np.array([shared(new, (a.species, a.place)) for a in rows])
        weights = np.linalg.solve(among, across)
        return weights @ [a.deviation for a in rows], shared(new, new) - weights @ across

    found = learned(evidence)
    for new in [*kinds, ("oak", "row"), ("unknown", "shed")]:
        for out in ([], ["0"], ["0", "3"], ["0", "1", "2", "3"]):
            mean, variance = conditioned(new, [one for one in evidence if one.key not in out])
            shift = found.of(*new, without=out)
            assert (shift.log_mean, shift.log_sd**2) == pytest.approx((mean, variance), rel=1e-9, abs=1e-12)


def test_leaving_a_stack_out_is_never_having_had_it():
    evidence = larches(0.1, 0.2, -0.9)
    found = learned(evidence)
    without, never = found.of("larch", "shed", without=["shed2"]), learned(evidence[:2]).of("larch", "shed")
    assert (without.log_mean, without.log_sd, without.stacks) == pytest.approx(
        (never.log_mean, never.log_sd, never.stacks)
    )
    assert found.of("larch", "shed", without=["shed0", "shed1", "shed2"]).log_mean == pytest.approx(0)


def test_a_stack_far_from_the_rest_stands_out():
    """A stack's surprise is its distance from what learning without it says; far ones count little."""
    evidence = larches(*[0.1] * 9, -1.6)
    found, without = learned(evidence), learned(evidence[:-1])
    others = without.of("larch", "shed")
    expected = (-1.6 - others.log_mean) / np.sqrt(others.log_sd**2 + 0.1**2 + Spreads().stack ** 2)
    assert found.surprises[-1] == pytest.approx(expected)
    assert found.surprises[-1] < -3
    assert max(abs(found.surprises[:-1])) < 1
    milder = learned(larches(*[0.1] * 9, -0.6))
    assert max(abs(milder.surprises)) < FAR
    drawn, doubted = (others.log_mean - one.of("larch", "shed").log_mean for one in (milder, found))
    assert doubted < 1.7 / 0.7 * drawn * 0.8  # less than in proportion
    assert len(learned([]).surprises) == 0


def drawn_yard(rng, stacks):
    """True effects and evidence of a yard drawn from the model itself."""
    spreads = Spreads()
    yard = rng.normal(0, spreads.yard)
    place = {name: rng.normal(0, np.hypot(spreads.place, EFFECTS[kind].rate_log_sd)) for name, kind in PLACES.items()}
    species = {name: rng.normal(0, spreads.species(sd)) for name, sd in BOOK.items()}
    both = {(a, b): rng.normal(0, spreads.species_in_place) for a in BOOK for b in PLACES}
    truth = {(a, b): yard + species[a] + place[b] + both[a, b] for a, b in both}
    kinds = [list(truth)[rng.integers(len(truth))] for _ in range(stacks)]
    sds = rng.uniform(0.05, 0.3, stacks)
    found = [
        truth[kind] + spreads.stack * rng.normal() + sd * rng.normal() for kind, sd in zip(kinds, sds, strict=True)
    ]
    return truth, [Evidence(str(i), *kinds[i], found[i], sds[i]) for i in range(stacks)]


def test_a_tenth_lies_beyond_the_tenth():
    """Of a Student t with a variance of one, as scipy.stats.t has it."""
    assert scipy.stats.t.sf(TENTH * np.sqrt(TAIL / (TAIL - 2)), TAIL) == pytest.approx(0.1, abs=1e-12)


def test_the_truth_of_synthetic_yards_is_recovered_and_the_spread_is_true():
    rng = np.random.default_rng(11)
    misses, unlearned, inside, next_inside = [], [], [], []
    for _ in range(150):
        truth, evidence = drawn_yard(rng, 24)
        found = learned(evidence)
        for kind, value in truth.items():
            shift = found.of(*kind)
            misses.append(value - shift.log_mean), unlearned.append(value)
            inside.append(abs(value - shift.log_mean) < NINE_IN_TEN * shift.log_sd)
            coming = value + Spreads().stack * rng.normal()
            next_inside.append(abs(coming - shift.log_mean) < TENTH * shift.next_log_sd)
    assert np.std(misses) < 0.6 * np.std(unlearned)
    assert np.mean(inside) == pytest.approx(0.8, abs=0.04)
    assert np.mean(next_inside) == pytest.approx(0.8, abs=0.04)


def test_the_prior_is_divided_out_of_a_posterior():
    """Normals: a prior and a measurement give the posterior; with the prior taken out, the measurement is left."""
    prior_mean, prior_sd, mean, sd = np.array([-1.0, -0.5]), np.array([0.45, 0.3]), np.array([-0.6, -0.9]), 0.2
    precision = prior_sd**-2 + sd**-2
    posterior = (prior_mean / prior_sd**2 + mean / sd**2) / precision
    back, spread = said_by_readings(posterior, precision**-0.5, prior_mean, prior_sd)
    assert back == pytest.approx(mean)
    assert spread == pytest.approx(sd)


def test_readings_that_say_nothing_have_an_endless_spread():
    mean, sd = said_by_readings(np.array([-1.0]), np.array([0.45]), np.array([-1.0]), np.array([0.45]))
    assert (mean, sd) == (-1.0, np.inf)


def test_a_kilns_factor_is_shrunk_and_then_believed():
    quick = [RunOutcome(str(i), expected_days=10, real_days=8) for i in range(200)]
    assert kiln_shift([]).factor == 1
    assert kiln_shift(quick).factor == pytest.approx(10 / 8, rel=0.01)
    one = kiln_shift(quick[:1])  # by hand: prior 0.35, run 0.30
    assert one.log_mean == pytest.approx(np.log(1.25) * 0.35**2 / (0.35**2 + 0.30**2))
    assert one.stacks == 1
    assert kiln_shift([RunOutcome("slow", 8, 10)]).factor < 1 < one.factor


def test_days_between_two_moistures_are_read_off_the_curve():
    days, curve = np.array([0.0, 2.0, 6.0]), np.array([30.0, 20.0, 10.0])
    assert days_between(days, curve, 30, 10) == 6
    assert days_between(days, curve, 25, 15) == pytest.approx(4 - 1)
    assert days_between(days, curve, 32, 8) == pytest.approx(6.8 + 0.4)  # at the slopes of its ends
    for far in ((34, 10), (30, 6), (15, 20), (20, 20)):
        assert np.isnan(days_between(days, curve, *far))


def test_what_cannot_be_is_refused_by_name():
    with pytest.raises(ValueError, match="deviation of a stack's rate"):
        Evidence("a", "larch", "shed", 9, 0.1)
    with pytest.raises(ValueError, match="spread of a stack's rate"):
        Evidence("a", "larch", "shed", 0, np.inf)
    with pytest.raises(ValueError, match="days that a run took"):
        RunOutcome("a", 3, 0)
    with pytest.raises(KeyError):
        learned([Evidence("a", "elm", "shed", 0, 0.1)])
