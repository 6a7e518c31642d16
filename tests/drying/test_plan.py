"""Plans: small ones against every schedule there is, larger ones against a checker that shares no code."""

from dataclasses import replace
from itertools import combinations
from time import process_time

import numpy as np
import pytest

from drying.layout import Space
from drying.plan import Rules, plan
from drying.verify import verify
from tests.drying.lumber import by_pack, hand, lumber, mill
from tests.effort import effort

PACK = (3000.0, 1200.0, 900.0)


def value_of(task, kiln, start, packs, horizon, rules):
    """EUR of a charge of whole packs, four to a kiln: the objective of the method, written down once more."""
    days = max(int(task[code].run_days[kiln.code][start]) for code in packs)
    within = min(1, (horizon - start) / days)
    middle = (start + min(start + days, horizon)) / 2
    value = -within * days * kiln.cost_per_day * (1 + rules.empty_cost * (1 - len(packs) / 4))
    for code in packs:
        one = task[code]
        due = 10**6 if one.due_day is None else one.due_day
        saved = one.late_per_week / 7 * (max(0, horizon + 14 - due) - max(0, start + days - due))
        value += within * (one.value * (1 - rules.discount * middle / horizon) + max(0, saved))
    return value, days


def best_schedule(stacks, kilns, days_open, horizon, rules):
    """The best of all schedules of whole packs: at every start of every kiln, every set that may go, or none."""
    task = {one.code: one for one in stacks}
    slots = [(day, kiln) for day in days_open for kiln in kilns]

    def best(index, left, free):
        if index == len(slots):
            return 0.0
        day, kiln = slots[index]
        found = best(index + 1, left, free)
        if free[kiln.code] > day:
            return found
        able = [
            code for code in sorted(left) if task[code].ready_day_p50 is not None and task[code].ready_day_p50 <= day
        ]
        for number in (3, 4):
            for packs in combinations(able, number):
                if len({task[code].group for code in packs}) > 1:
                    continue
                value, days = value_of(task, kiln, day, packs, horizon, rules)
                blocked = any(day < end and begin < day + days for begin, end in kiln.blocked)
                if not blocked:
                    rest = best(index + 1, left - set(packs), {**free, kiln.code: day + days})
                    found = max(found, value + rest)
        return found

    return best(0, frozenset(task), {kiln.code: 0 for kiln in kilns})


def small_yard(seed):
    """Nine packs of two groups, two kilns for four packs each, starts on every third day."""
    chance = np.random.default_rng(seed)
    kilns = [by_pack("A", blocked=((9, 11),)), by_pack("B", cost_per_day=14.0)]
    stacks = [
        lumber(
            f"T{index}", days=20, kilns=("A", "B"), group=str(chance.choice(["oak", "ash"])), pack=PACK,
            run=float(chance.integers(4, 9)), value=float(chance.integers(100, 900)), ready=int(chance.integers(0, 9)),
            due_day=int(chance.integers(5, 25)) if chance.random() < 0.5 else None, late_per_week=70.0,
        )
        for index in range(9)
    ]  # fmt: skip
    return stacks, kilns, [day % 3 == 0 for day in range(20)]


@pytest.mark.parametrize("seed", range(6))
def test_small_plans_of_packs_are_as_good_as_any_schedule(seed):
    stacks, kilns, open_days = small_yard(seed)
    made = plan(stacks, kilns, horizon_days=20, work_days=open_days, seconds=60)
    best = best_schedule(stacks, kilns, [day for day in range(20) if open_days[day]], 20, Rules())
    assert verify(made, stacks, kilns, horizon_days=20, work_days=open_days) == []
    assert made.value == pytest.approx(best)
    assert made.bound == pytest.approx(best)
    assert made.gap == pytest.approx(0, abs=1e-6)


def test_small_plans_of_boards_reach_what_whole_layers_can():
    """Three stacks of four layers, a kiln of six layers, two starts: every split into layers is counted."""
    rules = Rules(demand_margin=1.0, split_cost=0.0)
    kiln = hand(space=Space(6000, 1000, 6 * 52, 25))
    stacks = [
        lumber(code, days=12, pieces=((3000.0, 100.0, 80),), value=value, run=6.0)
        for code, value in (("a", 500.0), ("b", 420.0), ("c", 300.0))
    ]
    made = plan(
        stacks, [kiln], horizon_days=12, work_days=[day in (0, 6) for day in range(12)], rules=rules, seconds=60
    )
    best = -np.inf
    for first in np.ndindex(5, 5, 5):
        for second in np.ndindex(*(5 - n for n in first)):
            if sum(first) <= 6 and sum(second) <= 6 and min(sum(first), sum(second)) >= 0.6 * 6:
                value = 0.0
                for start, layers in ((0, first), (6, second)):
                    value -= 60 * (1 + 0.5 * (1 - sum(layers) / 6))
                    for one, number in zip(stacks, layers, strict=True):
                        value += number / 4 * one.value * (1 - 0.2 * (start + 3) / 12)
                best = max(best, value)
    assert verify(made, stacks, [kiln], horizon_days=12, rules=rules) == []
    assert made.value == pytest.approx(best)
    assert made.bound >= best - 1e-6


@pytest.fixture(scope="module")
def yard():
    """One kiln by hand and one by pack, eight weeks: planned once, looked at by several tests."""
    stacks, kilns = mill(effort(34, 60), ("hand", "pack"), seed=1)
    open_days = [day % 7 < 5 for day in range(56)]
    return stacks, kilns, open_days, plan(stacks, kilns, work_days=open_days, seconds=120, clock=process_time)


def test_a_mixed_yard_is_planned_by_all_rules(yard):
    stacks, kilns, open_days, made = yard
    assert verify(made, stacks, kilns, work_days=open_days) == []
    assert {charge.kiln for charge in made.charges} == {"K0", "K1"}
    assert not made.cut_by_clock
    assert 0 < made.value <= made.bound
    assert all(0 < charge.fill <= charge.fill_bound <= 1 for charge in made.charges)


def test_the_same_yard_in_another_order_gives_the_same_plan(yard):
    stacks, kilns, open_days, made = yard
    again = plan(stacks[::-1], kilns[::-1], work_days=open_days, seconds=120, clock=process_time)
    assert again.charges == made.charges
    assert again.reasons == made.reasons
    assert (again.value, again.bound) == (made.value, made.bound)


@pytest.mark.parametrize(("loadings", "seed"), [(("hand",), 2), (("hand", "hand"), 3), (("pack", "pack"), 4)])
def test_other_yards_keep_all_rules_too(loadings, seed):
    stacks, kilns = mill(effort(20, 30), loadings, days=42, seed=seed)
    made = plan(stacks, kilns, horizon_days=42, seconds=120, clock=process_time)
    assert verify(made, stacks, kilns, horizon_days=42) == []
    assert made.charges


def test_a_plan_cut_by_the_clock_still_is_a_plan():
    stacks, kilns = mill(60, ("hand", "pack"), seed=1)
    made = plan(stacks, kilns, seconds=0.0)
    assert made.cut_by_clock
    assert made.charges
    assert verify(made, stacks, kilns) == []


def test_a_small_change_moves_little_of_the_plan_in_force(yard):
    stacks, kilns, open_days, made = yard
    wetter = [
        replace(one, moisture_p50_pct=one.moisture_p50_pct + 0.3) if one.code == "T000" else one for one in stacks
    ]
    again = plan(wetter, kilns, work_days=open_days, seconds=120, in_force=made)
    assert verify(again, wetter, kilns, work_days=open_days) == []
    before = {(one.kiln, one.start_day, code) for one in made.charges for code in one.codes}
    after = {(one.kiln, one.start_day, code) for one in again.charges for code in one.codes}
    assert len(before & after) >= 0.7 * len(before)


def reasons_of(stacks, kilns, **given):
    made = plan(stacks, kilns, horizon_days=20, seconds=30, **given)
    assert verify(made, stacks, kilns, horizon_days=20, careful=given.get("careful", False)) == []
    return made, {reason.code: reason for reason in made.reasons}


FULL = ((3000.0, 100.0, 180),)  # nine of the ten layers of the kiln by hand


def test_a_stack_that_must_wait_is_held():
    _, reasons = reasons_of([lumber("a", pieces=FULL, must_wait=True)], [hand()])
    assert reasons["a"].why == "held"


def test_a_stack_longer_than_every_kiln_says_by_how_much():
    _, reasons = reasons_of([lumber("a", pieces=((6500.0, 100.0, 50),))], [hand()])
    assert reasons["a"].why == "too_long"
    assert reasons["a"].figures == {"longest_mm": 6500, "limit_mm": 6000, "kiln": "K"}


def test_a_pack_too_high_for_the_kiln_is_too_large():
    _, reasons = reasons_of([lumber("a", pack=(3000.0, 1200.0, 2400.0))], [by_pack()])
    assert reasons["a"].why == "too_large"


def test_a_wet_stack_says_when_it_will_be_ready():
    _, reasons = reasons_of([lumber("a", pieces=FULL, ready=33, sure=41, moisture=48.0)], [hand()])
    assert reasons["a"].why == "too_wet"
    assert (reasons["a"].figures["ready_p50"], reasons["a"].figures["ready_p90"]) == (33, 41)
    assert reasons["a"].figures["moisture_now_pct"] == 48


def test_a_careful_plan_waits_for_the_sure_day():
    stacks = [lumber("a", pieces=FULL, ready=0, sure=7)]
    assert reasons_of(stacks, [hand()])[0].charges[0].start_day == 0
    assert reasons_of(stacks, [hand()], careful=True)[0].charges[0].start_day == 7


@pytest.mark.parametrize(
    ("other", "cut_by"),
    [({"thickness_mm": 52.0}, "thickness"), ({"moisture": 27.0}, "moisture"), ({"group": "H"}, "volume")],
)
def test_a_stack_without_partners_says_which_rule_keeps_them_apart(other, cut_by):
    half = ((3000.0, 100.0, 80),)
    _, reasons = reasons_of([lumber("a", pieces=half), lumber("b", **{"pieces": half, **other})], [hand()])
    assert reasons["a"].why == "no_partners"
    assert reasons["a"].figures["cut_by"] == cut_by
    assert reasons["a"].figures["fill"] == pytest.approx(0.4 * 1.03)


def test_a_kiln_blocked_to_the_end_is_the_reason():
    _, reasons = reasons_of([lumber("a", pieces=FULL, ready=4)], [hand(blocked=((2, 25),))])
    assert reasons["a"].why == "kiln_blocked"
    assert reasons["a"].figures == {"kiln": "K", "until": 25}


def test_a_kiln_blocked_soon_takes_no_run_that_would_reach_into_it():
    made, _ = reasons_of([lumber("a", pieces=FULL)], [hand(blocked=((4, 8),))])
    assert [(one.start_day, one.end_day) for one in made.charges] == [(8, 13)]


def test_no_work_day_after_it_is_ready_leaves_no_time():
    _, reasons = reasons_of([lumber("a", pieces=FULL, ready=15)], [hand()], work_days=[day < 10 for day in range(20)])
    assert reasons["a"].why == "no_time_left"


def test_a_kiln_that_cannot_dry_it_is_told():
    _, reasons = reasons_of([lumber("a", pieces=FULL, kilns=())], [hand()])
    assert reasons["a"].why == "no_kiln"


def test_cheap_wood_yields_the_space_to_dear_wood():
    stacks = [lumber(f"dear{n}", pieces=FULL, value=900.0, run=10.0, days=20) for n in range(2)]
    _, reasons = reasons_of([*stacks, lumber("cheap", group="H", pieces=FULL, value=150.0, run=10.0)], [hand()])
    assert reasons["cheap"].why == "space_worth_more"
    figures = reasons["cheap"].figures
    assert figures["short"] == pytest.approx(figures["rent"] - figures["brings"])
    assert figures["short"] > 0


def test_a_need_far_off_can_wait():
    stacks = [lumber(f"dear{n}", pieces=FULL, value=900.0, run=10.0) for n in range(2)]
    late = lumber("late", pieces=FULL, value=150.0, run=10.0, due_day=45, late_per_week=5.0)
    _, reasons = reasons_of([*stacks, late], [hand()])
    assert reasons["late"].why == "wait_for_due"
    assert reasons["late"].figures["latest_start"] == 35


def test_what_stays_of_a_split_stack_is_told():
    made, reasons = reasons_of([lumber("a", pieces=((3000.0, 100.0, 300),), run=30.0, value=4000.0)], [hand()])
    (share,) = made.charges[0].shares
    assert reasons["a"].why == "part_only"
    assert reasons["a"].figures["share_in"] == pytest.approx(share.share)
    assert share.pieces == (200,)
    assert reasons["a"].figures["rest_m3"] == pytest.approx(100 * 3 * 0.1 * 0.027)


def test_lengths_of_two_stacks_that_complete_a_lane_share_it():
    # 3.4 m boards alone leave 2.6 m of each lane empty; the 2.6 m boards of the other stack go there.
    stacks = [lumber("a", pieces=((3400.0, 100.0, 100),)), lumber("b", pieces=((2600.0, 100.0, 100),))]
    made, _ = reasons_of(stacks, [hand()])
    assert [share.pieces for share in made.charges[0].shares] == [(100,), (100,)]
    assert made.charges[0].fill == pytest.approx(1.0)


def test_an_order_goes_though_it_is_wet_and_leaves_the_kiln_half_empty():
    made, reasons = reasons_of([lumber("a", pieces=((3000.0, 100.0, 60),), ready=33, must_go=True)], [hand()])
    assert made.charges[0].codes == ("a",)
    assert made.value == pytest.approx(made.charges[0].value - made.charges[0].cost)
    assert made.bound < 1000
    assert not reasons


def test_an_order_that_no_kiln_can_take_leaves_the_figures_as_they_are():
    stacks = [lumber("a", pieces=FULL), lumber("b", pieces=((6500.0, 100.0, 50),), must_go=True)]
    made, reasons = reasons_of(stacks, [hand()])
    assert reasons["b"].why == "too_long"
    assert made.value == pytest.approx(made.charges[0].value - made.charges[0].cost)
    assert made.value <= made.bound < 1000


def test_urgent_wood_goes_first():
    stacks = [lumber("a", pieces=FULL), lumber("b", pieces=FULL, due_day=6, late_per_week=100.0)]
    made, _ = reasons_of(stacks, [hand()])
    assert [charge.codes for charge in made.charges] == [("b",), ("a",)]
    assert made.charges[0].due_slack_days == 1


def test_a_weak_heater_makes_a_wet_charge_last_longer():
    wet = lumber("a", pieces=FULL, water_kg=np.full(40, 300.0))
    made, _ = reasons_of([wet], [hand(heater_kg_water_per_day=25.0)])
    assert made.charges[0].days == 12


def test_stacks_stay_whole_where_the_kiln_may_not_split_them():
    stacks = [lumber(code, pieces=((3000.0, 100.0, 120),)) for code in "ab"]
    made, _ = reasons_of(stacks, [hand(may_split=False)])
    assert [charge.codes for charge in made.charges] == [("a",), ("b",)]


def test_a_fuller_charge_later_is_offered():
    now = lumber("now", pieces=((3000.0, 100.0, 130),), value=500.0, due_day=5, late_per_week=1000.0)
    soon = lumber("soon", pieces=((3000.0, 100.0, 65),), value=200.0, ready=3)
    made, _ = reasons_of([now, soon], [hand(cost_per_day=4.0)])
    assert made.charges[0].start_day == 0
    (other,) = [one for one in made.alternatives if one.kind == "fuller_later"]
    assert other.start_day == 3
    assert other.codes == ("now", "soon")
    assert other.space_taken > other.space_taken_now + 0.2


def test_what_would_fill_the_charge_is_named():
    made, _ = reasons_of([lumber("a", pieces=((3400.0, 100.0, 70),))], [hand()])
    (missing,) = made.missing
    assert (missing.charge, missing.kiln, missing.group) == (0, "K", "G")
    assert missing.lane_rest_mm == 2600
    assert missing.thinnest_mm == pytest.approx(27 * 0.75)
    assert 0 < missing.volume_m3 < 10 * 6 * 1 * 0.027


def test_a_group_too_small_for_a_charge_says_what_it_lacks():
    made, _ = reasons_of([lumber("a", pieces=((3000.0, 100.0, 80),))], [hand()])
    (missing,) = made.missing
    assert missing.charge is None
    assert missing.volume_m3 == pytest.approx(0.648 * (1 - 0.412) / 0.412)


def test_two_stacks_of_one_code_are_refused():
    with pytest.raises(ValueError, match="two stacks have the code a"):
        plan([lumber("a"), lumber("a")], [hand()], horizon_days=20)


def test_a_forecast_shorter_than_the_plan_is_refused():
    with pytest.raises(ValueError, match="stack a: moisture_p50_pct covers 10 days; the plan needs 20"):
        plan([lumber("a", days=10)], [hand()], horizon_days=20)


def test_an_empty_yard_has_an_empty_plan():
    made = plan([], [hand()], horizon_days=20)
    assert (made.charges, made.reasons, made.value, made.gap) == ((), (), 0, 0)


class WantedNoMoreError(Exception):
    pass


def test_what_progress_raises_breaks_the_planning_off_wherever_it_is(monkeypatch):
    # told each time that it is looked, so that two plans are told as often
    monkeypatch.setattr("drying.planner.stopwatch.TELLING", 0.0)
    stacks, kilns = mill(12, ("hand",), days=28, seed=7)
    calls = []

    def count(*_told):
        calls.append(1)
        return True

    whole = plan(stacks, kilns, horizon_days=28, seconds=60, progress=count)
    assert whole.charges
    for at in (1, len(calls) // 3, 2 * len(calls) // 3, len(calls)):
        heard = []

        def stop(*_told, heard=heard, at=at):
            heard.append(1)
            if len(heard) == at:
                raise WantedNoMoreError
            return True

        with pytest.raises(WantedNoMoreError):
            plan(stacks, kilns, horizon_days=28, seconds=60, progress=stop)
        assert len(heard) == at, "nothing is asked after that"
    assert plan(stacks, kilns, horizon_days=28, seconds=60).charges == whole.charges
