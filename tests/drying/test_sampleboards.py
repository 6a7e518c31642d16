"""Which stacks get sample boards: the wettest, the slowest, the driest, and the larger the charge, the more."""

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drying.sampleboards import COUNTS, Sampled, boards_wanted, choose

stacks = st.lists(
    st.builds(
        Sampled,
        code=st.text("ABCDEFGH", min_size=1, max_size=3),
        moisture_pct=st.floats(8, 90),
        thickness_mm=st.floats(18, 80),
        volume_m3=st.floats(0.1, 30),
        rate=st.floats(0.2, 1),
    ),
    min_size=1,
    max_size=12,
    unique_by=lambda one: one.code,
)


@pytest.mark.parametrize(("volume", "count"), [(1, 4), (50, 4), (51, 6), (200, 8), (1000, 12)])
def test_larger_charges_get_more(volume, count):
    assert boards_wanted(volume) == count


def test_wettest_slowest_and_driest_are_three_stacks_where_there_are_three():
    wet, thick, dry, big = (
        Sampled("wet", 45, 27, 2, 0.5),
        Sampled("thick", 30, 52, 2, 0.5),
        Sampled("dry", 18, 27, 2, 0.5),
        Sampled("big", 25, 27, 20, 0.5),
    )
    found = choose([big, dry, thick, wet])
    assert found == [("wet", "wettest"), ("thick", "slowest"), ("dry", "driest"), ("big", "share")]


def test_a_wood_that_dries_slower_is_the_slowest_of_one_thickness():
    assert choose([Sampled("oak", 30, 27, 2, 0.3), Sampled("lime", 31, 27, 2, 0.9)])[1] == ("oak", "slowest")


@given(stacks)
def test_as_many_as_wanted_and_the_wettest_is_always_among_them(given):
    found = choose(given)
    assert len(found) == boards_wanted(sum(one.volume_m3 for one in given))
    codes = {one.code: one for one in given}
    assert max(one.moisture_pct for one in given) == codes[found[0][0]].moisture_pct
    if len(given) >= 3:
        assert len({code for code, _why in found[:3]}) == 3
    shares = Counter(code for code, why in found if why == "share")
    assert sum(shares.values()) == len(found) - 3


def test_no_stack_is_refused():
    with pytest.raises(ValueError, match="no stack"):
        choose([])
    assert COUNTS[-1][0] == 1000
