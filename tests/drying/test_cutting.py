"""Cutting stock: textbook instances of known optimum, brute force on small ones, and a checker of its own."""

from functools import cache
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.cutting import SHORT_TIMES, Stock, Want, cut
from tests.drying.cut_checker import faults
from tests.drying.test_lanes import PARENT_ROLL


def sound(plan, stock, wanted, kerf_mm):
    assert faults(plan, stock, wanted, kerf_mm) == []
    assert plan.bound <= plan.cost + 1e-9
    return plan


@pytest.mark.parametrize("flat", [False, True])
def test_chvatal_s_example_takes_453_rolls(flat):
    # Chvatal, Linear Programming (1983), chapter 13 (from memory): LP 452.25, optimum 453.
    demand = {45: 97, 36: 610, 31: 395, 14: 211}
    if flat:  # across the width, as strips
        stock, wanted = [Stock(1000, 100, 500)], [Want(count, 1000, size) for size, count in demand.items()]
    else:
        stock, wanted = [Stock(100, 1000, 500)], [Want(count, size, 1000) for size, count in demand.items()]
    plan = sound(cut(stock, wanted, kerf_mm=0, cut_m2=0), stock, wanted, 0)
    assert plan.short == (0, 0, 0, 0)
    assert plan.used_m2 == pytest.approx(453 * 0.1)
    assert plan.bound == pytest.approx(452.25 * 0.1)


def test_thirteen_widths_from_parent_rolls_take_73():
    # The worked example of the cutting stock problem in teaching use (from memory): LP 72.92, optimum 73.
    stock, wanted = [Stock(5600, 1000, 100)], [Want(count, size, 1000) for size, count in PARENT_ROLL.items()]
    plan = sound(cut(stock, wanted, kerf_mm=0, cut_m2=0), stock, wanted, 0)
    assert plan.used_m2 == pytest.approx(73 * 5.6)
    assert plan.bound == pytest.approx(72.92 * 5.6, rel=1e-3)
    assert plan.gap < 0.002


def test_each_cut_takes_its_kerf():
    stock, wanted = [Stock(2000, 200, 9)], [Want(4, 1000, 100)]
    assert sound(cut(stock, wanted, kerf_mm=0), stock, wanted, 0).used_m2 == pytest.approx(0.4)
    with_kerf = sound(cut(stock, wanted, kerf_mm=4), stock, wanted, 4)
    assert with_kerf.used_m2 == pytest.approx(4 * 0.4)  # one piece a board: 2 x 1000 + 4 mm is longer than it
    just, narrow = [Stock(2004, 204, 1)], [Stock(2003, 204, 1)]
    assert sound(cut(just, wanted, kerf_mm=4), just, wanted, 4).short == (0,)
    assert sound(cut(narrow, wanted, kerf_mm=4), narrow, wanted, 4).short == (2,)


def test_the_board_with_least_waste_is_taken():
    stock, wanted = [Stock(3000, 150, 5), Stock(2100, 110, 5), Stock(4000, 300, 5)], [Want(2, 1000, 100)]
    plan = sound(cut(stock, wanted, kerf_mm=4), stock, wanted, 4)
    assert [(one.stock, one.times) for one in plan.cuts] == [(1, 1)]
    assert plan.waste == pytest.approx(1 - 0.2 / 0.231)


def test_of_equal_areas_fewer_cuts_are_taken():
    stock, wanted = [Stock(1000, 200, 4), Stock(2000, 100, 4)], [Want(2, 1000, 100)]
    plan = sound(cut(stock, wanted, kerf_mm=0), stock, wanted, 0)
    assert [one.stock for one in plan.cuts] == [1]  # one strip and two pieces, not two strips
    assert plan.cut_count == 3


def test_random_lengths_by_the_metre_and_random_widths_by_the_square_metre():
    stock = [Stock(3000, 210, 4), Stock(2000, 100, 3)]
    strips = sound(cut(stock, [Want(12, None, 100)], kerf_mm=4), stock, [Want(12, None, 100)], 4)
    assert strips.short == (0,)
    assert strips.used_m2 == pytest.approx(0.63 + 3 * 0.2)  # two strips of 3 m, three of 2 m
    boards = sound(cut(stock, [Want(1)], kerf_mm=4), stock, [Want(1)], 4)
    assert boards.used_m2 == pytest.approx(0.63 + 2 * 0.2)
    assert all(one.whole == 0 for one in boards.cuts)


def test_what_the_stock_does_not_yield_is_short():
    stock, wanted = [Stock(2000, 100, 1)], [Want(3, 1000, 90), Want(2, 3000, 50), Want(5, None, 95)]
    plan = sound(cut(stock, wanted, kerf_mm=0), stock, wanted, 0)
    assert plan.short[1] == 2
    assert sum(plan.short) > 0
    nothing = cut([], wanted)
    assert (nothing.short, nothing.cuts, nothing.used_m2) == ((3, 2, 5), (), 0)
    assert cut(stock, []).cuts == ()


@pytest.mark.parametrize(
    ("stock", "want", "words"),
    [
        (Stock(0, 100, 1), Want(1), "board's length 0 mm is outside 1 to 20000"),
        (Stock(2000, 100, -1), Want(1), "number of boards -1 is outside"),
        (Stock(2000, 100, 1), Want(-2, 500, 50), "amount wanted -2 is outside"),
        (Stock(2000, 100, 1), Want(1.5, 500, 50), "amount wanted 1.5 is outside"),
        (Stock(2000, 100, 1), Want(1, 500), "a length needs its width"),
    ],
)
def test_what_cannot_be_is_refused(stock, want, words):
    with pytest.raises(ValueError, match=words):
        cut([stock], [want])


def fewest_strips(lengths, length, kerf):
    """Fewest strips of a length, over all sets as bit masks."""

    @cache
    def best(left):
        if not left:
            return 0
        found, part = 99, left
        while part:
            inside = [size for index, size in enumerate(lengths) if part >> index & 1]
            if sum(inside) + kerf * (len(inside) - 1) <= length:
                found = min(found, 1 + best(left ^ part))
            part = (part - 1) & left
        return found

    return best((1 << len(lengths)) - 1)


def board_cost(board, pieces, kerf, cut_m2):
    """What a board costs that yields these (length, width), or None where it can't."""
    if not pieces:
        return 0.0
    length, width = board
    strips = {}
    for one in {size for _, size in pieces}:
        strips[one] = fewest_strips(tuple(size for size, own in pieces if own == one), length, kerf)
    across = sum(count * (one + kerf) for one, count in strips.items()) - kerf
    if across > width or max(strips.values()) > 50:
        return None
    return length * width / 1e6 + cut_m2 * (sum(strips.values()) + len(pieces))


def brute(stock, wanted, kerf, cut_m2):
    """The least cost over every way to hand every piece to a board or to none."""
    boards = [(one.length_mm, one.width_mm) for one in stock for _ in range(one.count)]
    pieces = [(one.length_mm, one.width_mm) for one in wanted for _ in range(int(one.amount))]
    short = SHORT_TIMES * max(one.length_mm * one.width_mm / 1e6 for one in stock)
    best = short * len(pieces)
    for choice in product(range(len(boards) + 1), repeat=len(pieces)):
        costs = [
            board_cost(board, [one for one, at in zip(pieces, choice, strict=True) if at == index], kerf, cut_m2)
            for index, board in enumerate(boards)
        ]
        if None not in costs:
            best = min(best, sum(costs) + short * choice.count(len(boards)))
    return best


SIZES = st.tuples(st.integers(3, 12).map(lambda n: 100 * n), st.integers(2, 6).map(lambda n: 20 * n))


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    boards=st.lists(SIZES, min_size=1, max_size=3),
    pieces=st.lists(st.tuples(SIZES, st.integers(1, 3)), min_size=1, max_size=3),
    kerf=st.sampled_from([0, 4]),
)
def test_small_cases_are_cut_as_well_as_trying_all_ways(boards, pieces, kerf):
    pieces = pieces if sum(count for _, count in pieces) <= 5 else pieces[:1]
    stock = [Stock(length + 300, width + 40, 1) for length, width in boards]
    wanted = [Want(count, length, width) for (length, width), count in pieces]
    plan = sound(cut(stock, wanted, kerf_mm=kerf), stock, wanted, kerf)
    optimum = brute(stock, wanted, kerf, 1e-4)
    assert plan.bound <= optimum + 1e-6
    assert plan.cost == pytest.approx(optimum)
