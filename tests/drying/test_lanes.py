"""Packing lengths into bins: against instances whose optimum is known, and against every partition of small ones."""

import random
from collections import Counter
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.lanes import first_fit_decreasing, pack
from drying.packing.bins import best_fit_decreasing, fullest, pair_bound
from drying.packing.knapsack import knapsack
from drying.packing.patterns import cutting, tight_patterns

# Widths (mm) and rolls wanted; 5600 mm parent rolls. The worked example of the cutting stock problem in teaching use
# (from memory, as in the encyclopedia article "Cutting stock problem"): LP 72.92, optimum 73.
PARENT_ROLL = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12, 2100: 14, 2140: 16,
    2150: 18, 2200: 20,
}  # fmt: skip


def fewest(sizes, capacity):
    """Fewest bins by trying every subset: the best last bin and what is left, over sets as bit masks."""

    @cache
    def best(left):
        if not left:
            return 0
        first = left.bit_length() - 1
        rest, found = left ^ (1 << first), 99
        part = rest
        while True:
            inside = part | (1 << first)
            if sum(size for index, size in enumerate(sizes) if inside >> index & 1) <= capacity:
                found = min(found, 1 + best(left ^ inside))
            if not part:
                return found
            part = (part - 1) & rest

    return best((1 << len(sizes)) - 1)


def assert_valid(packing, sizes, capacity):
    assert sorted(index for one in packing.bins for index in one) == list(range(len(sizes)))
    assert all(sum(sizes[index] for index in one) <= capacity for one in packing.bins)
    assert packing.bound <= len(packing.bins)


def cut_up(number, capacity, seed):
    """Full bins cut at random: no packing can need fewer, none needs more (a constructed perfect partition)."""
    chance = random.Random(seed)
    pieces = []
    for _ in range(number):
        cuts = sorted(chance.sample(range(1, capacity), chance.randint(1, 4)))
        pieces += [b - a for a, b in zip([0, *cuts], [*cuts, capacity], strict=True)]
    chance.shuffle(pieces)
    return pieces


def triplets(number, seed):
    """`number` bins of 1000 cut into exactly three pieces of 250 to 490 each, as Falkenauer's triplets are made
    (1996, from memory): optimum = number, first-fit decreasing is several bins above it."""
    chance = random.Random(seed)
    pieces = []
    for _ in range(number):
        first = chance.randint(380, 490)
        second = chance.randint(250, (1000 - first) // 2)
        pieces += [first, second, 1000 - first - second]
    chance.shuffle(pieces)
    return pieces


def test_chvatal_s_cutting_example_is_solved_to_its_optimum():
    # Chvatal, Linear Programming (1983), chapter 13 (from memory): LP 452.25, optimum 453.
    sizes = [45] * 97 + [36] * 610 + [31] * 395 + [14] * 211
    packing = pack(sizes, 100)
    assert_valid(packing, sizes, 100)
    assert packing.lp_bound == pytest.approx(452.25)
    assert len(packing.bins) == packing.bound == 453
    assert packing.proven


def test_thirteen_widths_from_parent_rolls_take_73():
    sizes = [width for width, count in PARENT_ROLL.items() for _ in range(count)]
    packing = pack(sizes, 5600)
    assert_valid(packing, sizes, 5600)
    assert packing.lp_bound == pytest.approx(72.92, abs=0.01)
    assert len(packing.bins) == packing.bound == 73


@pytest.mark.parametrize("number", [20, 30])
def test_triplets_need_a_third_of_their_pieces(number):
    sizes = triplets(number, seed=number)
    packing = pack(sizes, 1000)
    assert_valid(packing, sizes, 1000)
    assert len(packing.bins) == packing.bound == number
    assert len(first_fit_decreasing(sizes, 1000)) > number


@pytest.mark.parametrize(("number", "capacity"), [(5, 50), (12, 7200), (25, 1500)])
def test_bins_cut_up_are_put_together_again(number, capacity):
    sizes = cut_up(number, capacity, seed=number)
    packing = pack(sizes, capacity)
    assert_valid(packing, sizes, capacity)
    assert len(packing.bins) == packing.bound == number


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 30), min_size=1, max_size=8), st.integers(30, 50))
def test_small_cases_are_packed_as_well_as_any_partition(sizes, capacity):
    packing = pack(sizes, capacity)
    assert_valid(packing, sizes, capacity)
    assert len(packing.bins) == fewest(sizes, capacity)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 60), min_size=1, max_size=8))
def test_no_bound_exceeds_the_optimum(sizes):
    counts = Counter(sizes)
    relaxed = cutting(list(counts), list(counts.values()), list(counts.values()), 60)
    assert pair_bound(sizes, 60) <= fewest(sizes, 60)
    assert relaxed.bound <= fewest(sizes, 60) + 1e-6


def test_quick_rules_keep_within_the_capacity_and_use_every_piece():
    sizes = cut_up(9, 600, seed=4)
    for rule in (first_fit_decreasing, best_fit_decreasing):
        bins = rule(sizes, 600)
        assert sorted(index for one in bins for index in one) == list(range(len(sizes)))
        assert all(sum(sizes[index] for index in one) <= 600 for one in bins)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 20), st.integers(1, 15), st.integers(1, 3)), max_size=5), st.integers(1, 40))
def test_knapsack_finds_the_most_valuable_choice(items, capacity):
    def best(index, left):
        if index == len(items):
            return 0
        value, weight, copies = items[index]
        return max(n * value + best(index + 1, left - n * weight) for n in range(copies + 1) if n * weight <= left)

    values, weights, copies = ([item[part] for item in items] for part in range(3))
    value, counts = knapsack(values, weights, copies, capacity)
    assert value == best(0, capacity) == sum(n * v for n, v in zip(counts, values, strict=True))
    assert sum(n * w for n, w in zip(counts, weights, strict=True)) <= capacity
    assert all(n <= c for n, c in zip(counts, copies, strict=True))


def test_the_fullest_subset_is_found():
    # 3 + 5 + 9 = 17 of 18; no subset sums up to 18.
    assert sum([3, 5, 9, 11][index] for index in fullest([3, 5, 9, 11], 18)) == 17


def test_every_tight_pattern_is_listed_and_no_other():
    # Of two 2 and one 3 within 6, at most 1 wasted: 2 + 3 wastes 1, 2 + 2 wastes 2, and 2 + 2 + 3 is too long.
    assert tight_patterns([3, 2], [1, 2], 6, 1) == [(1, 1)]


def test_a_piece_longer_than_the_bin_is_refused_by_its_size():
    with pytest.raises(ValueError, match="7300 does not fit"):
        pack([2500, 7300], 7200)


def test_nothing_needs_no_bin():
    assert pack([], 7200).bins == ()


def test_the_same_pieces_in_another_order_need_as_many_bins():
    sizes = triplets(20, seed=5)
    assert len(pack(sizes, 1000).bins) == len(pack(sorted(sizes), 1000).bins)
