"""The watch: safe rates against the published table, levels at their bounds, stain weather."""

import numpy as np
import pytest

from drying import watch, wood
from drying.tables import rows


def test_safe_rate_at_50_mm_is_two_fifths_of_25_mm():
    """FPL-GTR-118 (recalled): 8/4 at 0.4 of the 4/4 rate, 13 species of the packaged table, rounded to 0.1 there."""
    thick = [row for row in rows("kiln_safe_rates") if row["thickness_mm"] == "50.8"]
    assert len(thick) == 13
    for row in thick:
        thin, _ = watch.published_safe_rate_pct_per_day(row["species"])
        assert watch.safe_rate_pct_per_day(thin, 50.8) == pytest.approx(float(row["loss_pct_per_day"]), abs=0.13)


def test_thicker_stock_is_slower_as_wengert_has_it():
    """Wengert, oak-drying series step 1 (read): 10 % thicker takes about 15 % longer; our exponent gives 13 %."""
    assert watch.safe_rate_pct_per_day(1, 25.4) / watch.safe_rate_pct_per_day(1, 27.94) == pytest.approx(1.15, abs=0.02)


def test_published_rates_and_their_flags():
    """Red oak 3.8 and white oak 2.5 were read in a Wengert column; beech 4.5 is recalled."""
    assert watch.published_safe_rate_pct_per_day("red oak, upland") == (3.8, False)
    assert watch.published_safe_rate_pct_per_day("white oak, upland") == (2.5, False)
    assert watch.published_safe_rate_pct_per_day("American beech") == (4.5, True)
    with pytest.raises(KeyError, match="safe rate"):
        watch.published_safe_rate_pct_per_day("granite")


@pytest.mark.parametrize(("loss", "level"), [(1.9, "none"), (3.1, "mind"), (4.5, "mind"), (4.7, "act")])
def test_levels_of_drying_too_fast(loss, level):
    seen = watch.drying_too_fast(loss, 3.8, 25.4, 60, 22, 68)
    assert seen.level == level
    assert seen.figures["ratio"] == pytest.approx(loss / 3.8)


def test_too_fast_says_what_air_brings_it_down():
    seen = watch.drying_too_fast(7.6, 3.8, 25.4, 60, 30, 40, in_kiln=True)
    figures = seen.figures
    assert seen.changes[0] == "raise_humidity"
    assert 40 < figures["needed_humidity_pct"] < 97
    assert wood.equilibrium_moisture_pct(30, figures["needed_humidity_pct"]) == pytest.approx(figures["needed_emc_pct"])
    # Halving the rate by temperature alone: Simpson 1993's exp(-5280 / K) halves over some 12 K.
    assert figures["needed_temperature_c"] == pytest.approx(30 - 12.0, abs=0.5)


def test_below_fibre_saturation_the_rate_is_no_danger():
    assert watch.drying_too_fast(10, 3.8, 25.4, 22, 30, 40).level == "none"


def test_frost_and_saturated_air_are_answered_too():
    assert watch.drying_too_fast(9, 2.5, 60, 70, -8, 97).level == "act"
    assert watch.drying_too_fast(90, 2.5, 60, 70, 25, 97).figures["needed_humidity_pct"] <= 100


def test_stress_index_of_known_profiles():
    widths = np.array([0.5, 0.3, 0.2])
    flat = watch.stress_index([40, 40, 40], widths, 40, 28, 17.5)
    steep = watch.stress_index([60, 40, 20], widths, 10, 28, 17.5)
    assert flat == 0
    assert steep == pytest.approx((0.8 * 28 + 0.2 * 20 - 10) / 10.5)
    both = watch.stress_index(np.array([[40, 60], [40, 40], [40, 20]]), widths, [40, 10], 28, 17.5)
    np.testing.assert_allclose(both, [flat, steep])


def test_stress_levels_and_changes():
    assert [watch.stress_watch(index).level for index in (0.5, 1.0, 1.3)] == ["none", "mind", "act"]
    assert watch.stress_watch(0.5).changes == ()
    assert "raise_humidity" in watch.stress_watch(1.3, in_kiln=True).changes


def test_case_hardened_wood_asks_for_conditioning():
    assert watch.case_hardening_watch(0.6, 2, 8).level == "none"
    seen = watch.case_hardening_watch(1.0, 2, 8)
    assert (seen.level, seen.figures["condition_emc_from_pct"], seen.figures["condition_emc_to_pct"]) == (
        "mind",
        11,
        12,
    )
    assert watch.case_hardening_watch(0.6, 4, 8).changes == ("condition",)


def test_stain_needs_sapwood_moisture_warmth_and_damp_for_days():
    warm, damp = [18.0] * 4, [88.0] * 4
    assert watch.stain_watch(60, warm, damp, True).level == "act"
    assert watch.stain_watch(60, warm, [60, 60, 88, 88], True).level == "mind"
    assert watch.stain_watch(60, warm, [60, 60, 60, 78], True).level == "mind"
    assert watch.stain_watch(60, warm, damp, False).level == "none"
    assert watch.stain_watch(18, warm, damp, True).level == "none"
    assert watch.stain_watch(60, [3.0] * 4, damp, True).level == "none"
    assert watch.stain_watch(60, [38.0] * 4, damp, True).level == "none"
    assert watch.stain_watch(60, 18, 60, True).level == "none"


def test_boards_lying_tight_are_damp_whatever_the_weather():
    seen = watch.stain_watch(60, [20.0] * 3, [50.0] * 3, True, stickered=False)
    assert seen.level == "act"
    assert seen.changes[0] == "sticker"
    assert "relative_humidity_pct" not in seen.figures


def test_a_computed_run_is_judged_with_leeway():
    """Red oak under its published schedule comes to 1.3 times the safe rate in the model: mind, not act."""
    risk = {"rate": 1.32, "stress": 0.5, "stress_core_wet": 1.4, "core_less_surface_pct": 1.0}
    fast, stress, end = watch.run_watches(risk, 8)
    assert (fast.level, stress.level, end.level) == ("mind", "none", "act")
    assert watch.run_watches(risk | {"rate": 1.7}, 8)[0].level == "act"
    assert watch.run_watches(risk | {"rate": 0.9}, 8)[0].changes == ()


def test_frozen_stacks_are_told():
    """Ice needs free water and frost; bound water does not freeze (from memory, Siau)."""
    seen = watch.frost_watch(60, [2.0, -3.0, -4.0])
    assert (seen.level, seen.code, seen.figures["frozen_days"]) == ("mind", "frozen", 2)
    assert watch.frost_watch(60, [-3.0, -4.0, 1.0]).level == "none"
    assert watch.frost_watch(22, -8.0).level == "none"
    assert watch.frost_watch(60, -8.0).changes[0] == "wait_for_thaw"
