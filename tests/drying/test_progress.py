"""A plan in work tells how far it is, and stops when it is asked to; the checker finds what was tampered with."""

import math
from dataclasses import replace

import pytest

from drying.offers import Rules
from drying.plan import plan
from drying.planner.broad import few_windows, wide_windows
from drying.planner.task import make_task
from drying.verify import verify
from tests.drying.lumber import mill


@pytest.fixture(scope="module")
def yard():
    return mill(14, ("hand", "pack"), days=28, seed=6)


def test_progress_tells_ever_better_plans_and_lower_bounds(yard):
    stacks, kilns = yard
    heard = []
    made = plan(stacks, kilns, horizon_days=28, seconds=120, progress=lambda *one: heard.append(one) or True)
    shares, values, bounds = zip(*heard, strict=True)
    assert list(shares) == sorted(shares)
    assert list(values) == sorted(values)
    assert list(bounds) == sorted(bounds, reverse=True)
    assert bounds[0] == math.inf
    assert bounds[-1] >= made.value
    assert not made.cut_by_clock


def test_whoever_stops_it_gets_the_plan_so_far(yard):
    stacks, kilns = yard
    made = plan(stacks, kilns, horizon_days=28, seconds=120, progress=lambda *_: False)
    assert made.cut_by_clock
    assert made.charges
    assert verify(made, stacks, kilns, horizon_days=28) == []


def test_keeping_places_is_no_money(yard):
    stacks, kilns = yard
    free = plan(stacks, kilns, horizon_days=28, seconds=120)
    kept = plan(stacks, kilns, horizon_days=28, seconds=120, in_force=free)
    assert verify(kept, stacks, kilns, horizon_days=28) == []
    assert kept.value <= kept.bound
    assert kept.value == pytest.approx(sum(one.value - one.cost for one in kept.charges), abs=15 * len(stacks))


def test_the_checker_tells_a_wrong_total_and_a_stack_listed_twice(yard):
    stacks, kilns = yard
    made = plan(stacks, kilns, horizon_days=28, seconds=0)
    wrong = replace(made, value=made.value - 1)
    assert any("its charges come to" in fault for fault in verify(wrong, stacks, kilns, horizon_days=28))
    first = made.charges[0]
    twice = replace(made, charges=(replace(first, shares=(*first.shares, first.shares[0])), *made.charges[1:]))
    assert any("is listed 2 times" in fault for fault in verify(twice, stacks, kilns, horizon_days=28))


def test_wide_windows_hold_every_charge_that_few_windows_allow(yard):
    stacks, kilns = yard
    task = make_task(stacks, kilns, Rules(), 28, False, None, None)
    for kiln in range(2):
        wide = wide_windows(task, kiln)
        for one in few_windows(task, kiln):
            assert any(
                other.start == one.start and other.days <= one.days and set(one.stacks) <= set(other.stacks)
                for other in wide
            )
