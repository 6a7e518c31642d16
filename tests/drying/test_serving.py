"""Who gets what: small cases against trying all sets of pairs, and what no sharing may break."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from drying.serving import DAY, PAIR, SHORT, Demand, Lot, enough_lots, share_out


def faults(found, lots, demands):
    """Without the code that shares: every volume once, of lots that would do, and the short ones true."""
    told = []
    for at, demand in enumerate(demands):
        has = sum(volume for own, _, volume in found.shares if own == at)
        if abs(has + found.short[at] - demand.volume_m3) > 1e-5:
            told.append(f"{demand} has {has} and lacks {found.short[at]}")
    for at, lot in enumerate(lots):
        given_away = sum(volume for _, own, volume in found.shares if own == at)
        if given_away > lot.volume_m3 + 1e-5:
            told.append(f"{lot} gives {given_away}")
    told += [f"{own} would not do" for at, own, _ in found.shares if own not in demands[at].lots]
    return told


def brute(lots, demands):
    """The least cost over every set of pairs, each a linear program of scipy."""
    pairs = [(at, lot) for at, one in enumerate(demands) for lot in one.lots]
    best = float("inf")
    for used in product([False, True], repeat=len(pairs)):
        mine = [pair for pair, one in zip(pairs, used, strict=True) if one]
        late = [max(lots[lot].day - demands[at].day, 0.0) for at, lot in mine]
        prices = [demands[at].weight * min(DAY * days, SHORT / 2) for (at, _), days in zip(mine, late, strict=True)]
        costs = [*(SHORT * one.weight for one in demands), *prices]
        equal = [[float(row == at) for at in range(len(demands))] + [float(row == at) for at, _ in mine]
                 for row in range(len(demands))]  # fmt: skip
        above = [[0.0] * len(demands) + [float(own == lot) for _, own in mine] for lot in range(len(lots))]
        answer = linprog(costs, above, [one.volume_m3 for one in lots], equal, [one.volume_m3 for one in demands])
        best = min(best, answer.fun + PAIR * len(mine))
    return best


VOLUMES = st.integers(1, 30).map(lambda n: n / 10)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    lots=st.lists(st.tuples(VOLUMES, st.integers(0, 60)), min_size=1, max_size=3),
    wants=st.lists(st.tuples(VOLUMES, st.integers(0, 60), st.sampled_from([0.5, 1.0, 3.0])), min_size=1, max_size=2),
)
def test_small_cases_are_shared_as_well_as_trying_all_ways(lots, wants):
    stacks = [Lot(*one) for one in lots]
    demands = [Demand(*one, tuple(range(len(lots)))) for one in wants]
    found = share_out(stacks, demands)
    optimum = brute(stacks, demands)
    assert faults(found, stacks, demands) == []
    assert found.bound <= optimum + 1e-5
    assert found.cost == pytest.approx(optimum, rel=2e-3)
    quick = share_out(stacks, demands, nodes=0)
    assert faults(quick, stacks, demands) == []
    assert quick.bound <= optimum + 1e-5 <= quick.cost + 2e-5


def test_what_matters_more_gets_the_early_wood():
    lots = [Lot(1, 0), Lot(1, 50)]
    found = share_out(lots, [Demand(1, 10, 1, (0, 1)), Demand(1, 10, 3, (0, 1))])
    assert {(at, lot) for at, lot, _ in found.shares} == {(0, 1), (1, 0)}


def test_one_stack_is_taken_rather_than_two():
    found = share_out([Lot(0.6, 0), Lot(1, 0), Lot(0.6, 0)], [Demand(1, 10, 1, (0, 1, 2))])
    assert [(at, lot) for at, lot, _ in found.shares] == [(0, 1)]


def test_woods_apart_and_nothing_at_all():
    found = share_out([Lot(1, 0), Lot(1, float("inf"))], [Demand(1, 9, 1, (0,)), Demand(2, 9, 1, (1,)), Demand(1, 9)])
    assert found.short.tolist() == [0, 1, 1]
    assert share_out([], []).shares == ()


def test_a_lot_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="lots of a demand 3 is outside 0 to 0"):
        share_out([Lot(1, 0)], [Demand(1, 9, 1, (3,))])


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    lots=st.lists(st.tuples(VOLUMES, st.one_of(st.integers(0, 90), st.just(float("inf")))), min_size=1, max_size=40),
    wants=st.lists(
        st.tuples(VOLUMES, st.integers(0, 60), st.sampled_from([0.5, 1.0, 3.0]), st.integers(1, 3)),
        min_size=1,
        max_size=4,
    ),
)
def test_enough_lots_are_shared_as_cheaply_as_all(lots, wants):
    """Each wish takes each lot of which its step divides the place; wastes differ by place."""
    stacks = [Lot(*one) for one in lots]
    places = [tuple(range(0, len(lots), step)) for *_, step in wants]
    wastes = [tuple((7 * at) % 10 / 20 for at in own) for own in places]
    whole = [Demand(*one[:3], own, waste) for one, own, waste in zip(wants, places, wastes, strict=True)]
    wanted = sum(one.volume_m3 for one in whole)
    few = []
    for one in whole:
        volumes, days = ([getattr(stacks[at], name) for at in one.lots] for name in ("volume_m3", "day"))
        mine = enough_lots(one, volumes, days, one.waste, wanted).tolist()
        held = sum(volumes[at] for at in mine)
        assert held >= min(wanted, sum(volumes)) - 1e-9
        few.append(
            Demand(one.volume_m3, one.day, one.weight, tuple(one.lots[at] for at in mine),
                   tuple(one.waste[at] for at in mine))
        )  # fmt: skip
    found, best = share_out(stacks, few, nodes=0), share_out(stacks, whole, nodes=0)
    assert faults(found, stacks, few) == []
    assert found.bound == pytest.approx(best.bound, abs=1e-6)


def test_of_very_many_lots_few_are_enough():
    volumes, days = [2.0] * 1000, list(range(1000))
    mine = enough_lots(Demand(3.0, 10), volumes, days, [0.0] * 1000, 9.0)
    assert mine.tolist() == [0, 1, 2, 3, 4]
