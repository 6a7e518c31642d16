"""Lanes as wide as their widest board: bounds against every partition of small cases, and the search around them."""

import random
from collections import Counter
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.layout import Board, Space
from drying.loading.lanesearch import narrowed, program_of
from drying.loading.layers import layered
from drying.loading.rows import greedy_rows, total_width_mm
from drying.packing.bars import needed_width_mm, supply

boards_of = st.lists(
    st.tuples(st.sampled_from([1000, 1500, 1700, 2300, 3100]), st.integers(90, 400)), min_size=1, max_size=7
)


def least_width(kinds, length_mm):
    """The narrowest lanes of all partitions, by dynamic programming over sets of boards."""

    @cache
    def best(left):
        if not left:
            return 0
        first = left.bit_length() - 1
        rest, found = left ^ (1 << first), 10**9
        part = rest
        while True:
            inside = [kinds[i] for i in range(len(kinds)) if (part | 1 << first) >> i & 1]
            if sum(length for length, _ in inside) <= length_mm:
                found = min(found, max(width for _, width in inside) + best(rest ^ part))
            if not part:
                return found
            part = (part - 1) & rest

    return best((1 << len(kinds)) - 1)


def some_boards(number, seed):
    chance = random.Random(seed)
    return [Board("A", chance.randrange(1200, 5000, 50), chance.randint(90, 400), 27) for _ in range(number)]


@settings(max_examples=60, deadline=None)
@given(boards_of)
def test_no_bound_on_lane_width_exceeds_the_best_of_all_partitions(kinds):
    boards = [Board("A", *kind, 27) for kind in kinds]
    best = least_width(tuple(kinds), 4200)
    greedy = min(greedy_rows(boards, 4200), key=total_width_mm)
    program = program_of(greedy, 4200)
    program.solve(100)
    assert needed_width_mm(supply(boards), 4200) <= best + 1e-6
    assert program.bound <= best + 1e-6
    for rows in (greedy, program.dive(), program.whole(greedy)):
        assert total_width_mm(rows) >= best
        assert Counter(kind for row in rows for kind in row) == Counter(kinds)
        assert all(sum(length for length, _ in row) <= 4200 for row in rows)


@pytest.mark.parametrize("seed", range(5))
def test_the_bound_by_lanes_is_not_below_the_one_by_length(seed):
    boards = some_boards(60, seed)
    rows = greedy_rows(boards, 6200)[0]
    program = program_of(rows, 6200)
    program.solve(100)
    assert needed_width_mm(supply(boards), 6200) <= program.bound + 1e-6 <= total_width_mm(rows) + 2e-6


def test_a_cut_counts_whole_lanes_of_the_wide_boards():
    # Three boards of 2 m and 400 mm, 3 m of lane: each needs a lane of its own, what lies beside it is narrower.
    boards = [Board("A", 2000, 400, 27)] * 3 + [Board("A", 1000, 100, 27)] * 3
    program = program_of(greedy_rows(boards, 3000)[0], 3000)
    program.solve(50)
    assert program.bound == pytest.approx(1200)
    assert total_width_mm(program.dive()) == 1200


def test_taking_lanes_apart_only_ever_narrows_them_and_loses_no_board():
    boards = some_boards(80, 3)
    rows = greedy_rows(boards, 6200)[0]
    widths = [total_width_mm(rows)]
    for better in narrowed(rows, 6200, 30):
        assert Counter(kind for row in better for kind in row) == Counter((b.length_mm, b.width_mm) for b in boards)
        assert all(sum(length for length, _ in row) <= 6200 for row in better)
        widths.append(total_width_mm(better))
    assert len(widths) > 1
    assert widths == sorted(widths, reverse=True)


def test_the_same_boards_in_another_order_make_the_same_layers():
    boards, space = some_boards(50, 8), Space(6200, 1200, 900, 25)
    ordered = sorted(boards, key=lambda one: (one.width_mm, one.length_mm))

    def sizes(some):
        return [
            [[(b.length_mm, b.width_mm) for b in lane] for lane in layer] for layer in layered(some, space, True)[0]
        ]

    assert sizes(boards) == sizes(ordered)


def test_lengths_that_are_no_whole_millimetres_are_not_rounded_up_for_the_bound():
    # Three of 2000.4 mm lie in 6002 mm, three of 2001 mm would not: one layer of three lanes is enough.
    assert layered([Board("A", 2000.4, 200, 27)] * 9, Space(6002, 600, 900, 25), exact=True)[1] == 1
