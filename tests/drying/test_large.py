"""Plans of large yards: the exact search for packs, the bound of each window and of the whole, and the plan itself."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drying.layout import Pack, Space
from drying.loading.packs import _fullest, all_fit, lay_out_packs
from drying.loading.standing import standing
from drying.plan import Fixing, Rules, plan
from drying.planner.book import Batch, Book, make_batch, total, worth
from drying.planner.broad import wide_windows
from drying.planner.campaign import Campaigns, lines_left
from drying.planner.crowd import Crowd, lifted
from drying.planner.deals import Deals
from drying.planner.market import bound_at, traded
from drying.planner.proof import Proof, proven
from drying.planner.settle import laid_out
from drying.planner.stock import Stock
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import make_task, twins
from drying.planner.windows import windows
from drying.verify import verify
from tests.drying.lumber import hand, lumber, mill
from tests.drying.test_plan import best_schedule, small_yard
from tests.effort import effort

SPACE = Space(6400, 2400, 2000, 100)
LENGTHS = st.sampled_from([2000.0, 2500.0, 3000.0, 3400.0, 4100.0, 5000.0, 6300.0])
PACKS = st.lists(st.tuples(LENGTHS, st.sampled_from([900.0, 1150.0, 1300.0]), st.integers(300, 1300)), max_size=8)


def packs_of(sizes):
    return [Pack(str(number), length, width, float(height)) for number, (length, width, height) in enumerate(sizes)]


def by_orders(packs):
    """Whether the quick orders alone find a place for all."""
    ordered = sorted(packs, key=lambda one: (-one.height_mm, -one.width_mm, -one.length_mm, one.stack))
    return sum(len(row) for tier in _fullest(ordered, SPACE) for row in tier.rows) == len(packs)


@settings(max_examples=60, deadline=None)
@given(PACKS)
def test_packs_that_the_quick_orders_place_the_search_places_too_and_truly(sizes):
    packs = packs_of(sizes)
    tiers = standing(packs, SPACE)
    assert all_fit(packs, SPACE) == (tiers is not None)
    assert tiers is not None or not by_orders(packs)
    if tiers is None:
        return
    assert sorted(one.stack for tier in tiers for row in tier for one in row) == sorted(one.stack for one in packs)
    assert sum(max(one.height_mm for row in tier for one in row) + 100 for tier in tiers) <= 2000 + 1e-6
    for tier in tiers:
        assert sum(max(one.width_mm for one in row) for row in tier) <= 2400 + 1e-6
        assert all(sum(one.length_mm for one in row) <= 6400 + 1e-6 for row in tier)
    assert not lay_out_packs(packs, SPACE).unplaced


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6))
def test_a_space_cut_into_tiers_rows_and_packs_takes_them_all_again(seed):
    chance = np.random.default_rng(seed)
    first = int(chance.integers(400, 1400))
    packs = []
    for height in (first, 1800 - first):
        for width in (1100, 1300):
            cut = int(chance.integers(1500, 4900))
            packs += [(cut, width, height), (6400 - cut, width, height)]
    assert all_fit(packs_of(packs), SPACE)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(150, 2000), min_size=1, max_size=9), st.floats(0, 0.9))
def test_no_sizes_that_fit_together_have_more_than_the_whole_room(sizes, more):
    shares = lifted([size + more for size in sizes], 2000.0)
    for number in range(1, len(sizes) + 1):
        for some in combinations(range(len(sizes)), number):
            if sum(sizes[one] + more for one in some) <= 2000:
                assert shares[list(some)].sum() <= 1 + 1e-9


def test_a_length_that_nothing_fits_beside_takes_the_whole_lane():
    assert lifted([5000.0, 2000.0, 2000.0], 6400.0).tolist() == pytest.approx([1.0, 0.4, 0.4])


def crowds_of(task, step_days=1):
    kinds = {}
    for kiln, twin in enumerate(twins(task)):
        kinds.setdefault(twin, []).append(kiln)
    return [Crowd(task, kilns, wide_windows(task, first, step_days)) for first, kilns in kinds.items()]


def yard_of(seed, number=40, loadings=("hand", "pack"), days=28):
    stacks, kilns = mill(number, loadings, days=days, seed=seed)
    return make_task(stacks, kilns, Rules(), days, False, None, None)


def boards_of(task, batch):
    """Boards of each tally line that a batch takes."""
    taken = dict(batch.items)
    found = {}
    for stack, _ in batch.shares:
        share = {int(task.items.length[item]): taken.get(item, 0.0) for item in task.items.of[stack]}
        found[stack] = tuple(int(count * share[int(length)] + 1e-6) for length, _, count in task.lumber[stack].pieces)
    return found


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 5), st.integers(0, 10**6), st.sampled_from([1, 2]))
def test_no_charge_brings_more_than_a_wide_window_that_holds_it(seed, draw, step_days):
    task = yard_of(seed)
    chance = np.random.default_rng(draw)
    prices = chance.uniform(0, 300, len(task.lumber))
    for one in crowds_of(task, step_days):
        campaigns, proof = Campaigns(task, [one]), Proof(one, Campaigns(task, [one]).fitting[one.kiln])
        profit = one.profit(prices).profit
        for row in chance.integers(0, len(one.start), 4).tolist():
            batch = campaigns.loaded(one, one.kiln, row, Book(task), prices)
            if batch is None:
                continue
            if (
                task.kilns[one.kiln].loading == "hand"
            ):  # boards are counted, not yet laid out: a board too many is no fault
                done = laid_out(task, Stock(task), batch, boards_of(task, batch), exact=True)
                if done is None:
                    continue
                batch = done.batch
            brings = worth(task, batch) - sum(share * prices[stack] for stack, share in batch.shares)
            inside = {stack for stack, _ in batch.shares}
            here = [
                other for other in np.flatnonzero((one.start == batch.start) & (one.days <= batch.days)).tolist()
                if inside <= set(one.stack[one.first[other] : one.first[other + 1]].tolist())
            ]  # fmt: skip
            assert brings <= max(profit[here]) + 1e-6
            assert brings <= max(min(profit[other], proof.window(other, prices)) for other in here) + 1e-6
            blocks = [np.flatnonzero(proof.block == proof.block[other]) for other in here]
            shared = [proof.together(rows, prices)[rows == other][0] for rows, other in zip(blocks, here, strict=True)]
            assert brings <= max(shared) + 1e-6


@pytest.mark.parametrize("seed", range(3))
def test_windows_priced_by_their_best_stacks_alone_are_priced_the_same(seed, monkeypatch):
    monkeypatch.setattr("drying.planner.crowd.FEW", 3)
    task = yard_of(seed)
    chance = np.random.default_rng(seed)
    for one in crowds_of(task):
        assert one.dropped.any()
        for most in (0, 300, 3000):
            prices = chance.uniform(0, most, len(task.lumber))
            every = one.profit(prices, None, (0, task.horizon))
            found = one.profit(prices)
            assert found.profit == pytest.approx(every.profit, abs=1e-6)
            row = int(found.profit.argmax())
            assert dict(zip(*found.load(row), strict=True)) == pytest.approx(dict(zip(*every.load(row), strict=True)))


def test_of_a_length_that_is_used_up_no_boards_are_left():
    """One batch takes all the long boards, another one half of all of what the stack seems to have left."""
    task = make_task(
        [lumber("A", pieces=((3000.0, 100.0, 40), (2000.0, 100.0, 40)))], [hand()], Rules(), 20, False, None, None
    )
    stack, long = 0, task.items.of[0][1]
    assert task.items.length[long] == 3000
    book = Book(task, [
        Batch(0, 0, 5, ((stack, 0.6),), (stack,), ((long, 1.0),)),
        Batch(0, 6, 5, ((stack, 0.3),), (stack,)),
    ])  # fmt: skip
    assert lines_left(task, book, [stack]) == {stack: [0, 28]}


def test_wide_windows_hold_all_exact_ones():
    task = yard_of(3)
    for kiln in range(2):
        wide = wide_windows(task, kiln)
        for one in windows(task, kiln):
            slowest = max(task.days[kiln, stack, one.start] for stack in one.stacks)
            assert any(
                other.start == one.start and other.days == slowest and set(one.stacks) <= set(other.stacks)
                for other in wide
            )


@pytest.mark.parametrize("seed", range(6))
def test_the_bound_is_never_below_the_best_of_all_schedules(seed):
    stacks, kilns, open_days = small_yard(seed)
    best = best_schedule(stacks, kilns, [day for day in range(20) if open_days[day]], 20, Rules())
    task = make_task(stacks, kilns, Rules(), 20, False, open_days, None)
    crowds, watch = crowds_of(task), Stopwatch(600)
    market = traded(task, crowds, watch, 1.0)
    assert market.bound >= best - 1e-6
    proofs = [Proof(one, Campaigns(task, crowds).fitting[one.kiln]) for one in crowds]
    chance = np.random.default_rng(seed)
    for prices in (market.prices, market.steady_prices, chance.uniform(0, 500, len(stacks))):
        loose = bound_at(crowds, prices, [one.profit(prices) for one in crowds])
        tight = proven(proofs, prices, watch, 1.0)
        assert best - 1e-6 <= tight <= loose + 1e-6


def test_deals_are_told_out_to_kilns_that_are_alike_and_never_worth_less_than_the_plan_they_began_with():
    task = yard_of(2, 60, ("pack", "hand", "hand"))
    crowds, watch = crowds_of(task), Stopwatch(600)
    campaigns, market = Campaigns(task, crowds), traded(task, crowds, watch, 1.0)
    book = Book(task)
    campaigns.planned(book, range(3), market.prices)
    deals = Deals(campaigns, crowds)
    deals.begin(market.prices, market.day_prices, book.batches)
    for _ in range(3):
        deals.round(watch, 1.0)
        value = deals.solve()
    assert value > 0
    plan_ = deals.chosen(book.sorted_batches(), watch, 20, 0.2)
    assert total(task, plan_) >= book.value - 1e-6
    again = Book(task)
    for batch in plan_:
        assert again.takes(batch)
        assert make_batch(task, batch.kiln, batch.start, dict(batch.shares), batch.window) is not None
        again.enter(batch)


@pytest.fixture
def large(monkeypatch):
    monkeypatch.setattr("drying.planner.task.MANY", 30)


def test_a_large_yard_is_planned_by_all_rules_and_the_same_twice(large):
    stacks, kilns = mill(effort(34, 45), ("hand", "hand", "pack"), days=28, seed=4)
    made = plan(stacks, kilns, horizon_days=28, seconds=600)
    assert verify(made, stacks, kilns, horizon_days=28) == []
    assert 0 < made.value <= made.bound
    assert made.value >= 0.7 * made.bound
    again = plan(stacks[::-1], kilns[::-1], horizon_days=28, seconds=600)
    assert again.charges == made.charges


def test_wishes_are_kept_in_a_large_yard_too(large):
    stacks, kilns = mill(effort(34, 45), ("hand", "pack"), days=28, seed=6)
    ready = [one.code for one in stacks if one.ready_day_p50 is not None and one.ready_day_p50 <= 7]
    fixings = [Fixing("into", ready[0], "K1", 7), Fixing("hold", ready[1])]
    made = plan(stacks, kilns, horizon_days=28, seconds=20, fixings=fixings)
    assert verify(made, stacks, kilns, horizon_days=28, fixings=fixings) == []
    assert made.unmet or any(ready[0] in one.codes and one.start_day == 7 for one in made.charges)
    assert all(ready[1] not in one.codes for one in made.charges)


def test_a_large_yard_without_time_or_without_windows_still_has_an_answer(large):
    stacks, kilns = mill(45, ("hand", "pack"), days=28, seed=4)
    quick = plan(stacks, kilns, horizon_days=28, seconds=0)
    assert verify(quick, stacks, kilns, horizon_days=28) == []
    shut = plan(stacks, kilns, horizon_days=28, seconds=5, work_days=[False] * 28)
    assert shut.charges == ()
