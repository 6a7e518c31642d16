"""Chains of runs, scales of size, and boards with their lanes: what a charge is chosen by, against all ways."""

from itertools import combinations, pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.layout import Pack, Space
from drying.loading.packs import all_fit
from drying.offers import Rules
from drying.packing.scales import scales, taken_by
from drying.planner.cargo import best_cargo
from drying.planner.ceiling import packs_taken
from drying.planner.chain import Chain
from drying.planner.fixings import Fixed
from drying.planner.lengths import Lengths
from drying.planner.stage import Stage
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import make_task
from drying.planner.windows import windows
from tests.drying.lumber import by_pack, hand, lumber, mill

RUNS = st.lists(st.tuples(st.integers(0, 9), st.integers(1, 6), st.integers(-5, 20)), max_size=7)


@given(RUNS)
def test_the_best_chain_is_that_of_all_ways(runs):
    start, days, profit = (np.array(column, dtype=int) for column in zip(*runs, strict=True)) if runs else [
        np.zeros(0, int) for _ in range(3)
    ]  # fmt: skip
    best = 0
    for number in range(len(runs) + 1):
        for some in combinations(sorted(runs), number):
            if all(a[0] + a[1] <= b[0] for a, b in pairwise(some)):
                best = max(best, sum(one[2] for one in some))
    value, rows = Chain(10, start, days).best(profit.astype(float))
    assert value == best == sum(int(profit[row]) for row in rows)
    ordered = sorted((int(start[row]), int(start[row] + days[row])) for row in rows)
    assert all(a[1] <= b[0] for a, b in pairwise(ordered))


@given(st.lists(st.integers(1, 60), min_size=1, max_size=7))
def test_sizes_that_fit_a_room_fit_it_by_every_scale(sizes):
    room = 60.0
    for scale in scales(np.array(sizes, float), room, room):
        for number in range(1, len(sizes) + 1):
            for some in combinations(range(len(sizes)), number):
                if sum(sizes[one] for one in some) <= room:
                    assert scale[list(some)].sum() <= 1 + 1e-9


def test_of_scales_none_is_kept_that_never_counts_more():
    low, high = np.array([0.2, 0.3]), np.array([0.5, 0.3])
    assert [one.tolist() for one in taken_by([[low, high]], 5)] == [[0.5, 0.3]]


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_packs_that_fit_together_take_one_kiln_at_most_however_they_are_counted(seed):
    stacks, kilns = mill(10, ("pack",), seed=seed)
    task = make_task(stacks, kilns, Rules(), 56, False, None, None)
    taken = packs_taken(task, 0)
    for number in (2, 3, 4):
        for some in combinations(sorted(taken), number):
            if len({int(task.groups[stack]) for stack in some}) == 1:
                packs = [Pack(task.lumber[stack].code, *task.lumber[stack].pack) for stack in some]
                if all_fit(packs, kilns[0].space):
                    assert max(sum(ways) for ways in zip(*(taken[stack] for stack in some), strict=True)) <= 1 + 1e-9


def test_packs_of_half_the_height_and_more_do_not_stand_on_each_other():
    stacks = [lumber(f"P{number}", pack=(3000.0, 1200.0, 1000.0)) for number in range(4)]
    task = make_task(stacks, [by_pack()], Rules(), 30, False, None, None)
    # Two along, and none above: with its bolster of 100 mm a pack takes more than half of 2,000 mm.
    assert max(packs_taken(task, 0)[0]) == pytest.approx(0.5)


def test_the_cargo_is_the_best_of_all_ways():
    # One layer of 300 mm: a lane of 6 m, or two boards of 3 m in it, as wide as the wider.
    pieces = ((6000.0, 200.0, 1), (3000.0, 200.0, 1), (3000.0, 120.0, 1), (3000.0, 100.0, 2))
    stacks = [lumber(f"S{number}", pieces=(one,), value=50.0 + 30 * number) for number, one in enumerate(pieces)]
    space = Space(6000, 300, 60, 25)
    task = make_task(stacks, [hand(space=space)], Rules(smallest_part=0.01), 30, False, None, None)
    have = {number: [one[2]] for number, one in enumerate(pieces)}
    layers = best_cargo(task, 0, 0, 5, have, watch=Stopwatch(60))
    got = [int(board.stack[1]) for layer in layers for lane in layer for board in lane]
    each = [float(task.gain(0, np.array([n]), np.array(0), np.array(5))[0]) / have[n][0] for n in range(4)]
    assert sum(each[one] for one in got) == pytest.approx(max(brute(each)))


def brute(each):
    """What every way brings that lays kinds 0 to 3 in lanes beside each other, 300 mm in sum."""
    kinds = [(6000, 200), (3000, 200), (3000, 120), (3000, 100), (3000, 100)]
    names = [0, 1, 2, 3, 3]
    for lanes in product(range(3), repeat=len(kinds)):
        some = [[kinds[one] for one, lane in enumerate(lanes) if lane == number] for number in (1, 2)]
        fits = all(sum(length for length, _ in lane) <= 6000 for lane in some)
        if fits and sum(max((width for _, width in lane), default=0) for lane in some) <= 300:
            yield sum(each[names[one]] for one, lane in enumerate(lanes) if lane)


@pytest.mark.parametrize(("loading", "number"), [("hand", 60), ("pack", 140)])
def test_what_windows_were_counted_to_holds_at_other_prices(loading, number):
    stacks, kilns = mill(number, (loading,), seed=3)
    task = make_task(stacks, kilns, Rules(), 56, False, None, None)
    stage = Stage(task, Fixed(task, ()))
    lengths = stage.lengths[0]
    assert isinstance(lengths, Lengths) and lengths.windows == windows(task, 0)
    chance = np.random.default_rng(4)
    before, after = (chance.uniform(0, 150, len(task.items.stack)) for _ in range(2))
    rows = range(0, len(lengths.windows), max(1, len(lengths.windows) // 12))
    for row in rows:
        lengths.mix(row, before)
    lowered = lengths.lowered(after, np.full(len(lengths.windows), np.inf))
    assert np.isfinite(lowered[list(rows)]).all()
    for row in rows:
        assert lengths.mix(row, after).profit <= lowered[row] + 1e-6
