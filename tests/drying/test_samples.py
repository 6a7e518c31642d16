"""Moisture content by weighing, against the reference's worked examples 1, 2 and 12."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying import samples


@pytest.mark.parametrize(
    ("wet_g", "oven_dry_g", "published_pct"),
    [
        (136, 100, 36),  # 1.1, published: Purdue extension FNR-156, red oak
        (1100, 1000, 10.0),  # 1.2, constructed on EN 13183-1
        (1150, 1000, 15.0),  # 1.3, same
    ],
)
def test_oven_dry_method(wet_g, oven_dry_g, published_pct):
    assert samples.moisture_pct(wet_g, oven_dry_g) == pytest.approx(published_pct)


def test_wet_basis():
    """Worked examples 1.2 to 1.4."""
    assert samples.wet_basis_pct([10.0, 15.0]) == pytest.approx([9.1, 13.0], abs=0.05)
    assert samples.from_wet_basis_pct([15, 20, 50]) == pytest.approx([17.6, 25.0, 100.0], abs=0.05)


def test_balance_for_a_slice():
    """Worked example 1.5: 45 x 145 x 20 mm at 0.45 g/cm3 is 59 g dry, so a 0.01 g balance (EN 13183-1 clause 4)."""
    assert samples.balance_g(4.5 * 14.5 * 2.0 * 0.45) == 0.01
    assert samples.balance_g(150) == 0.1


@pytest.mark.parametrize(
    ("sections", "section_pcts", "initial_pct", "board_g", "dry_g", "later"),
    [
        (  # 2.1
            ((182.4, 98.6), (176.9, 97.2)),
            (85.0, 82.0),
            83.5,
            4820,
            2626.8,
            {4310: 64.1, 3620: 37.8, 2790: 6.2},
        ),
        (((180.0, 110.0), (172.0, 108.0)), (63.6, 59.3), 61.4, 2340, 1449.4, {1855: 28.0}),  # 12.1
    ],
)
def test_sample_boards(sections, section_pcts, initial_pct, board_g, dry_g, later):
    """Method: Wengert, oak-drying series 3B; figures constructed."""
    found = [samples.moisture_pct(*section) for section in sections]
    assert found == pytest.approx(section_pcts, abs=0.06)
    initial = sum(found) / 2
    assert initial == pytest.approx(initial_pct, abs=0.06)
    # to 4 digits: the example rounds the initial moisture content to 0.1 % before it divides
    assert samples.oven_dry_g(board_g, round(float(initial), 1)) == pytest.approx(dry_g, abs=0.7)
    for mass_g, moisture in later.items():
        assert samples.current_moisture_pct(mass_g, dry_g) == pytest.approx(moisture, abs=0.06)


@given(st.floats(10, 20_000), st.floats(0, 300))
def test_a_board_just_cut_has_its_initial_moisture(green_g, moisture):
    dry = samples.oven_dry_g(green_g, moisture)
    assert samples.current_moisture_pct(green_g, dry) == pytest.approx(moisture, abs=1e-6)


@given(st.floats(0, 300))
def test_wet_basis_round_trip(moisture):
    assert samples.from_wet_basis_pct(samples.wet_basis_pct(moisture)) == pytest.approx(moisture, abs=1e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: samples.moisture_pct(98, 136), "wet mass 98 g is below the oven-dry mass 136 g; they may be swapped"),
        (lambda: samples.moisture_pct(100, 0), "oven-dry mass 0 g is outside"),
        (lambda: samples.moisture_pct(1000, 100), "moisture content 900 % is outside 0 to 400 %"),
        (lambda: samples.from_wet_basis_pct(95), "wet-basis moisture content 95 % is outside 0 to 80 %"),
    ],
)
def test_impossible_weighings_are_refused_by_name(call, words):
    with pytest.raises(ValueError, match=words):
        call()
