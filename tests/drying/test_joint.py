"""Lengths that fit together: weights that no lane exceeds, what stacks need together, and the best mix of a run."""

from collections import Counter
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.layout import Board, Space
from drying.load import lay_out
from drying.offers import Rules
from drying.packing.weights import Lane
from drying.planner.book import Batch, worth
from drying.planner.cargo import best_cargo
from drying.planner.ceiling import Ceiling
from drying.planner.demand import demand
from drying.planner.lengths import Lengths
from drying.planner.mix import Mixer
from drying.planner.settle import laid_out
from drying.planner.stock import Stock
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import make_task
from drying.planner.windows import windows
from tests.drying.lumber import hand, lumber, mill

SIX_METRES = Space(6000, 1000, 520, 25)


def heaviest(lane, weights):
    """The largest sum of weights of all lanes that can be formed, by trying them all."""
    numbers = [range(copies + 1) for copies in lane.copies]
    lanes = (
        some for some in product(*numbers) if sum(n * one for n, one in zip(some, lane.lengths, strict=True)) <= 60
    )
    return max(sum(n * weight for n, weight in zip(some, weights, strict=True)) for some in lanes)


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(st.integers(11, 60), st.integers(1, 4), min_size=1, max_size=4),
    st.lists(st.floats(0, 900), min_size=4, max_size=4),
)
def test_no_lane_exceeds_the_weights_whatever_they_were_made_from(lengths, widths):
    lane = Lane(lengths, 60)
    need, weights = lane.by_load(widths[: len(lengths)])
    for some in (lane.by_area(), weights, lane.fair([1.0] * len(lengths))):
        assert heaviest(lane, some) <= 1 + 1e-9
    assert weights @ np.array(widths[: len(lengths)]) == pytest.approx(need, rel=1e-6, abs=1e-6)


def test_a_length_that_was_not_asked_for_gets_the_weight_that_is_left_beside_the_others():
    # In 6 m, 3.4 m boards need a lane each; beside one there is room for 2.6 m, which then weighs nothing, while two
    # boards of 3 m, which fit beside none, may weigh half a lane each.
    lane = Lane({3400: 9, 2600: 9, 3000: 9}, 6000)
    need, weights = lane.by_load([0, 0, 800.0])
    assert need == pytest.approx(800)
    assert weights == pytest.approx([0.0, 0.5, 1.0], abs=1e-6)


def test_lengths_that_fill_a_lane_together_need_no_more_than_the_longer_alone():
    # 40 boards of 3.4 m and 40 of 2.6 m, 100 mm wide, in 6 m: 40 lanes together, 40 and 20 each by itself.
    stacks = [lumber("A", pieces=((3400.0, 100.0, 40),)), lumber("B", pieces=((2600.0, 100.0, 40),))]
    need = demand(stacks, [hand(space=SIX_METRES)], Rules(demand_margin=1.0))
    assert need.layers[0].tolist() == pytest.approx([4, 2])
    joint = need.joint[0]
    assert joint.proven_height({0: 1.0, 1: 1.0}) == pytest.approx(4 * 52)
    assert joint.used({0: 1.0, 1: 1.0}) == pytest.approx(4 * 52 / 520)
    load = joint.load({0: 1.0})
    assert load.height() == pytest.approx(4 * 52)
    # Beside 10 layers' worth of the long ones (2.5 stacks) as many of the short ones go, and none more.
    assert load.room(0) == pytest.approx(1.5)
    assert joint.load({0: 2.5}).room(1) == pytest.approx(2.5, abs=1e-5)
    assert joint.load({0: 2.5, 1: 2.5}).room(1) == pytest.approx(0.0, abs=1e-5)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 5), st.lists(st.floats(0.15, 1.0), min_size=3, max_size=3))
def test_what_stacks_need_together_is_at_most_the_sum_and_at_least_what_was_proven_of_it(seed, shares):
    stacks, kilns = mill(30, ("hand",), seed=seed)
    need = demand(stacks, kilns, Rules())
    joint = need.joint[0]
    first = next(iter(joint.class_of.values()))
    some = dict(zip(first.row, shares, strict=False))
    estimate = first.total(some.items()) @ first.lane.by_area()
    alone = sum(share * need.layers[0, stack] for stack, share in some.items())
    proven = first.proven(first.total(some.items()))
    assert estimate <= proven + 1e-6 <= alone + 2e-6
    assert joint.height(some) <= joint.proven_height(some) + 1e-6


def test_a_load_is_never_said_to_need_more_than_it_takes_when_it_is_laid_out():
    stacks, kilns = mill(24, ("hand",), seed=3)
    need = demand(stacks, kilns, Rules(demand_margin=1.0))
    for one in set(need.joint[0].class_of.values()):
        some = list(one.row)[:3]
        boards = [
            Board(stacks[s].code, length, width, stacks[s].thickness_mm)
            for s in some for length, width, count in stacks[s].pieces for _ in range(count)
        ]  # fmt: skip
        layout = lay_out(boards, Space(7200, 1200, 9000, 25))
        assert need.joint[0].proven_height(dict.fromkeys(some, 1.0)) <= layout.height_mm + 1e-6


def task_of(seed, number=14, days=28, **given):
    stacks, kilns = mill(number, ("hand",), days=days, seed=seed)
    return make_task(stacks, kilns, Rules(**given), days, False, None, None)


def paid_for(task, counts, prices):
    """What these boards cost at the prices of their items: each by its part of the item's width."""
    paid = 0.0
    for stack, some in counts.items():
        for (length, width, _), count in zip(task.lumber[stack].pieces, some, strict=True):
            item = task.items.find(stack, int(length))
            paid += prices[item] * width * count / task.items.width_mm[item]
    return paid


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 6), st.integers(0, 10**6))
def test_no_charge_laid_out_brings_more_than_its_window_was_bounded_by(seed, draw):
    task = task_of(seed)
    offered = windows(task, 0)
    lengths = Lengths(task, 0, offered)
    chance = np.random.default_rng(draw)
    prices = chance.uniform(0, 200, len(task.items.stack))
    row = int(chance.integers(len(offered)))
    mixed = lengths.mix(row, prices)
    assert mixed.profit <= mixed.bound + 1e-6
    window, stock = offered[row], Stock(task)
    for _ in range(4):
        few = chance.permutation(window.stacks)[: chance.integers(1, 5)].tolist()
        counts = {stack: stock.pick(stack, float(chance.uniform(0.2, 1.0))) for stack in few}
        one = laid_out(task, stock, Batch(0, window.start, window.days, (), window.stacks), counts)
        if one is not None and one.batch.days == window.days:
            paid = paid_for(task, one.counts, prices)
            assert worth(task, one.batch) - paid <= mixed.bound + 1e-6


@pytest.mark.parametrize("seed", [1, 2, 5])
def test_counting_windows_exactly_only_lowers_the_bound(seed):
    task = task_of(seed, number=30)
    offered = windows(task, 0)
    ceiling, lengths = Ceiling(task, 0, offered), Lengths(task, 0, offered)
    prices = np.full(len(task.items.stack), 20.0)
    profit = ceiling.profit(prices)
    loose, tight = lengths.most(prices, profit, looks=0), lengths.most(prices, profit)
    best = max(lengths.mix(row, prices).profit for row in range(0, len(offered), 7))
    assert best <= tight + 1e-6 <= loose + 2e-6


def test_the_mix_takes_of_a_stack_what_fits_beside_the_other():
    # 3.4 m boards in 6 m, and a stack of 2.6 m and 4 m ones: the kiln is full of 3.4 + 2.6.
    stacks = [
        lumber("A", pieces=((3400.0, 100.0, 100),), value=900),
        lumber("B", pieces=((2600.0, 100.0, 100), (4000.0, 100.0, 100)), value=900),
    ]
    task = make_task(stacks, [hand(space=SIX_METRES)], Rules(), 30, False, None, None)
    have = {0: [100], 1: [100, 100]}
    boards = [board for layer in best_cargo(task, 0, 0, 5, have, watch=Stopwatch(60)) for row in layer for board in row]
    assert Counter((one.stack, one.length_mm) for one in boards) == {("A", 3400): 100, ("B", 2600): 100}
    capped = best_cargo(task, 0, 0, 5, have, caps={1: 0.2}, watch=Stopwatch(60))
    taken = sum(one.length_mm for layer in capped for row in layer for one in row if one.stack == "B")
    assert taken <= 0.21 * (2600 + 4000) * 100


def test_the_heater_limits_the_mix_and_its_bound():
    stacks = [lumber("A", pieces=((3000.0, 100.0, 200),), water_kg=np.full(40, 100.0), value=900)]
    free = make_task(stacks, [hand(space=SIX_METRES)], Rules(), 30, False, None, None)
    tight = make_task(stacks, [hand(space=SIX_METRES, heater_kg_water_per_day=10.0)], Rules(), 30, False, None, None)
    have = {0: [200]}
    whole, half = Mixer(free, 0).mix(0, 5, have), Mixer(tight, 0).mix(0, 5, have)
    assert sum(whole.numbers) == pytest.approx(200)
    # 50 kg in five days of the stack's 100: half of its boards.
    assert sum(half.numbers) == pytest.approx(100)
    assert half.profit == pytest.approx(half.bound)
