"""What a person has fixed: every plan keeps it or says which rule it collides with, and it never adds to the bound."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.offers import Fixing
from drying.plan import Rules, clashes, plan
from drying.verify import verify
from tests.drying.lumber import by_pack, hand, lumber, mill
from tests.effort import effort

PACK = (3000.0, 1200.0, 900.0)
FULL = ((3000.0, 100.0, 180),)
"""Nine of the ten layers of the kiln by hand."""


def made(stacks, kilns, fixings, **given):
    found = plan(stacks, kilns, fixings=fixings, seconds=60, **given)
    assert verify(found, stacks, kilns, fixings=fixings, **given) == []
    return found


def where(found, code):
    return [(one.kiln, one.start_day) for one in found.charges if code in one.codes]


def whys(stacks, kilns, *fixings, **given):
    return [
        (one.fixing.kind, one.why, dict(one.figures))
        for one in clashes(stacks, kilns, fixings, horizon_days=40, **given)
    ]


def test_a_stack_goes_into_the_charge_it_is_fixed_into_and_the_others_go_around_it():
    stacks = [lumber(code, pieces=FULL, value=value, days=30) for code, value in (("A", 400.0), ("B", 300.0))]
    free = made(stacks, [hand()], [], horizon_days=30)
    assert where(free, "A") == [("K", 0)] and where(free, "B") == [("K", 5)]
    fixed = made(stacks, [hand()], [Fixing("into", "B", "K", 3)], horizon_days=30)
    assert where(fixed, "B") == [("K", 3)] and where(fixed, "A") == [("K", 8)]
    assert fixed.unmet == () and fixed.value < free.value


def test_a_charge_may_be_fixed_that_is_too_empty_for_the_planner_alone():
    little = [lumber("A", pieces=((3000.0, 100.0, 40),))]
    assert made(little, [hand()], [], horizon_days=30).charges == ()
    assert where(made(little, [hand()], [Fixing("into", "A")], horizon_days=30), "A") == [("K", 0)]


def test_a_stack_held_back_waits_and_the_plan_says_why():
    stacks = [lumber("A", pieces=FULL)]
    assert where(made(stacks, [hand()], [Fixing("hold", "A", until_day=12)], horizon_days=30), "A") == [("K", 12)]
    out = made(stacks, [hand()], [Fixing("hold", "A")], horizon_days=30)
    assert [(one.code, one.why, dict(one.figures)) for one in out.reasons] == [("A", "held", {"until": None})]
    late = made(stacks, [hand()], [Fixing("hold", "A", until_day=40)], horizon_days=30)
    assert [(one.why, dict(one.figures)) for one in late.reasons] == [("held", {"until": 40})]


@pytest.mark.parametrize("kiln", [hand(), by_pack()])
def test_two_stacks_that_go_together_alone_do_not_once_they_are_kept_apart(kiln):
    half = ((3000.0, 100.0, 90),)
    stacks = [lumber(code, pieces=half, pack=PACK) for code in "ABCD"]
    assert any({"A", "B"} <= set(one.codes) for one in made(stacks, [kiln], [], horizon_days=30).charges)
    rules = Rules(smallest_fill=0.4)
    apart = made(stacks, [kiln], [Fixing("apart", "A", other="B")], horizon_days=30, rules=rules)
    assert where(apart, "A") and where(apart, "B")


def test_a_start_is_a_date_in_whichever_kiln():
    stacks = [lumber(code, pieces=FULL, kilns=("A", "B")) for code in "PQR"]
    found = made(stacks, [hand("A"), hand("B")], [Fixing("start", "Q", start_day=7)], horizon_days=30)
    assert [start for _, start in where(found, "Q")] == [7]


def test_a_fixed_charge_has_no_alternative():
    stacks = [lumber("A", pieces=((3000.0, 100.0, 130),)), lumber("B", pieces=((3000.0, 100.0, 60),), ready=6)]
    assert made(stacks, [hand()], [], horizon_days=30).alternatives
    assert made(stacks, [hand()], [Fixing("into", "A", "K", 0)], horizon_days=30).alternatives == ()


def test_what_is_fixed_leaves_another_stack_no_place_and_that_is_its_reason():
    stacks = [lumber("A", pieces=FULL, run=9.0), lumber("B", group="other", pieces=FULL, run=9.0)]
    found = made(stacks, [hand(blocked=((14, 20),))], [Fixing("into", "A", "K", 4)], horizon_days=20)
    assert [(one.code, one.why) for one in found.reasons] == [("B", "fixed_out")]


def test_a_stack_larger_than_the_kiln_goes_in_as_far_as_it_fits_and_the_bound_stays_one_of_money():
    stacks = [lumber("A", pieces=((3000.0, 100.0, 280),), value=560.0), lumber("B", pieces=FULL)]
    free = made(stacks, [hand()], [], horizon_days=30)
    found = made(stacks, [hand()], [Fixing("into", "A", "K", 4)], horizon_days=30)
    assert where(found, "A") == [("K", 4)] and found.unmet == ()
    assert found.value <= found.bound <= free.bound


def test_too_wet_on_that_day():
    late = lumber("A", pieces=FULL, ready=12, sure=20)
    figures = {"start": 5, "ready_p10": 12, "ready_p50": 12, "ready_p90": 20}
    assert whys([late], [hand()], Fixing("into", "A", "K", 5)) == [("into", "not_ready", figures)]
    assert whys([late], [hand()], Fixing("into", "A", "K", 12)) == []
    assert whys([late], [hand()], Fixing("into", "A", "K", 12), careful=True)[0][1] == "not_ready"


def test_the_kiln_is_blocked_that_day_or_before_the_run_is_done():
    kiln = hand(blocked=((3, 9),))
    stack = lumber("A", pieces=FULL)
    figures = {"kiln": "K", "start": 5, "begin": 3, "until": 9, "days": 5.0}
    assert whys([stack], [kiln], Fixing("into", "A", "K", 5)) == [("into", "blocked", figures)]
    assert whys([stack], [kiln], Fixing("into", "A", "K", 0))[0][1] == "blocked"
    assert whys([stack], [kiln], Fixing("into", "A", "K", 9)) == []


def test_several_rules_are_all_told():
    kiln = hand(blocked=((3, 9),))
    stack = lumber("A", pieces=FULL, ready=12)
    assert [why for _, why, _ in whys([stack], [kiln], Fixing("into", "A", "K", 5))] == ["not_ready", "blocked"]


def test_what_the_kiln_can_not_hold():
    long = lumber("A", pieces=((6200.0, 100.0, 40),))
    figures = {"kiln": "K", "longest_mm": 6200.0, "limit_mm": 6000.0}
    assert whys([long], [hand()], Fixing("into", "A", "K", 5)) == [("into", "longer", figures)]
    wide = lumber("A", pieces=((3000.0, 1200.0, 4),))
    assert whys([wide], [hand()], Fixing("into", "A", "K", 5)) == [("into", "larger", {"kiln": "K", "needed": None})]
    whole = lumber("A", pieces=((3000.0, 100.0, 240),))
    rule = whys([whole], [hand(may_split=False)], Fixing("into", "A", "K", 5))[0]
    assert rule[1] == "larger" and rule[2]["needed"] == pytest.approx(1.03 * 12 / 10)
    assert whys([whole], [hand()], Fixing("into", "A", "K", 5)) == []


def test_what_two_stacks_of_one_charge_can_not_share():
    first = Fixing("into", "A", "K", 5)
    base = lumber("A", pieces=FULL)
    for other, why, mine, theirs in (
        (lumber("B", group="oak"), "other_group", "oak", "G"),
        (lumber("B", thickness_mm=60.0), "other_thickness", 60.0, 27.0),
        (lumber("B", moisture=12.0), "other_moisture", 12.0, 20.0),
    ):
        found = whys([base, other], [hand()], first, Fixing("into", "B", "K", 5))
        assert found == [("into", why, {"stack": "A", "mine": mine, "theirs": theirs})]


def test_more_than_fits_into_one_charge():
    stacks = [lumber("A", pieces=FULL), lumber("B", pieces=((3000.0, 100.0, 60),))]
    found = whys(stacks, [hand()], Fixing("into", "A", "K", 5), Fixing("into", "B", "K", 5))
    assert [why for _, why, _ in found] == ["too_much"] and found[0][2]["share"] == pytest.approx(1.2)


def test_lengths_that_fill_a_lane_together_are_not_too_much():
    stacks = [lumber(code, pieces=((length, 100.0, 100),)) for code, length in (("A", 3600.0), ("B", 2400.0))]
    fixings = [Fixing("into", code, "K", 5) for code in "AB"]
    assert whys(stacks, [hand()], *fixings) == []
    assert where(made(stacks, [hand()], fixings, horizon_days=30), "B") == [("K", 5)]


def test_two_starts_that_overlap_in_one_kiln():
    stacks = [lumber("A", pieces=FULL, run=8.0), lumber("B", pieces=FULL, run=5.0)]
    figures = {"kiln": "K", "stack": "A", "begin": 6, "end": 14, "my_start": 2, "my_end": 7}
    fixings = [Fixing("into", "A", "K", 6), Fixing("start", "B", start_day=2)]
    assert whys(stacks, [hand()], *fixings) == [("start", "overlap", figures)]
    found = made(stacks, [hand()], fixings, horizon_days=30)
    assert where(found, "A") == [("K", 6)] and [one.why for one in found.unmet] == ["overlap"]


def test_the_other_ways_a_wish_can_fail():
    stacks = [lumber("A"), lumber("B"), lumber("W", must_wait=True)]
    kilns = [hand()]
    into = Fixing("into", "A", "K", 5)
    for fixings, why in (
        ([Fixing("into", "X", "K", 5)], "unknown"),
        ([Fixing("apart", "A", other="X")], "unknown"),
        ([Fixing("apart", "A", other="A")], "itself"),
        ([Fixing("into", "W", "K", 5)], "waits"),
        ([Fixing("into", "A", "Z", 5)], "no_such_kiln"),
        ([Fixing("into", "A", "K", 60)], "outside"),
        ([Fixing("into", "A", "K", -1)], "outside"),
        ([into, Fixing("into", "A", "K", 9)], "other_place"),
        ([into, Fixing("hold", "A", until_day=8)], "pinned"),
        ([into, Fixing("hold", "A")], "pinned"),
        ([Fixing("hold", "A", until_day=8), into], "held_back"),
        ([Fixing("apart", "A", other="B"), into, Fixing("into", "B", "K", 5)], "apart"),
        ([into, Fixing("into", "B", "K", 5), Fixing("apart", "B", other="A")], "pinned"),
    ):
        assert why in [one.why for one in clashes(stacks, kilns, fixings, horizon_days=40)], fixings
    sundays = [day % 7 != 5 for day in range(40)]
    assert whys(stacks, kilns, into, work_days=sundays)[0][1] == "no_work_day"
    never = lumber("N", pieces=FULL, run=np.inf)
    assert whys([never], kilns, Fixing("into", "N", "K", 5))[0][1] == "cannot_dry"
    assert (
        whys([lumber("L", ready=39, run=5.0)], [hand(blocked=((39, 60),))], Fixing("into", "L", "K"))[0][1] == "no_day"
    )


def test_a_fixing_that_makes_no_sense_is_refused():
    for wrong in (
        {"kind": "soon", "code": "A"},
        {"kind": "start", "code": "A"},
        {"kind": "apart", "code": "A"},
        {"kind": "hold", "code": "A", "until_day": 10**9},
    ):
        with pytest.raises(ValueError, match="fixing of A"):
            Fixing(**wrong)


def wishes(number):
    codes = st.integers(0, number - 1).map(lambda one: f"T{one:03d}")
    day = st.integers(0, 40)
    kiln = st.sampled_from(["K0", "K1", None])
    return st.one_of(
        st.builds(Fixing, st.just("into"), codes, kiln, st.one_of(st.none(), day)),
        st.builds(lambda code, until: Fixing("hold", code, until_day=until), codes, st.one_of(st.none(), day)),
        st.builds(lambda code, other: Fixing("apart", code, other=other), codes, codes),
        st.builds(lambda code, start: Fixing("start", code, start_day=start), codes, day),
    )


@settings(max_examples=effort(5, 60), deadline=None)
@given(seed=st.integers(1, 40), loadings=st.sampled_from([("hand", "hand"), ("hand", "pack")]),
       fixings=st.lists(wishes(12), min_size=1, max_size=5))  # fmt: skip
def test_any_wishes_are_kept_or_told_and_nothing_breaks(seed, loadings, fixings):
    stacks, kilns = mill(12, loadings, seed=seed)
    made(stacks, kilns, fixings, horizon_days=42)


@settings(max_examples=effort(3, 25), deadline=None)
@given(seed=st.integers(1, 40), fixings=st.lists(wishes(9), min_size=1, max_size=3))
def test_no_plan_that_keeps_a_wish_is_worth_more_than_the_bound_without_it(seed, fixings):
    """With no least fill, so that what is fixed is allowed anyway: then the fixing is one rule more."""
    stacks, kilns = mill(9, ("hand", "pack"), seed=seed)
    rules = replace(Rules(), smallest_fill=0.0)
    free = made(stacks, kilns, [], horizon_days=42, rules=rules)
    fixed = made(stacks, kilns, fixings, horizon_days=42, rules=rules)
    assert fixed.value <= free.bound + 1e-6 * abs(free.bound) + 1e-3
    assert fixed.value - 1e-3 <= fixed.bound
