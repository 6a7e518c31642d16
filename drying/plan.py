"""Which stacks dry together, in which kiln and when, and why each of the others does not.

Charges are found by column generation and chosen by an integer program, each is really laid out, and what the plan is
worth is compared with a bound that no plan can exceed. The method: Gilmore and Gomory's columns (1961) for charges
over time; named from memory.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from math import isclose
from time import perf_counter

import numpy as np

from drying.offers import Fixing, KilnOffer, Lumber, Rules
from drying.packing.asking import asking
from drying.planner import large
from drying.planner.answer import charges
from drying.planner.book import Batch, Book, total
from drying.planner.choices import alternatives, missing
from drying.planner.columns import Selection, select, tightened, unpriced
from drying.planner.columns import bound as proven
from drying.planner.dive import Dive
from drying.planner.fixings import Fixed, clashes
from drying.planner.greedy import rate_greedy, refill
from drying.planner.keep import repaired
from drying.planner.master import chosen, pool, rounded
from drying.planner.reasons import Reasons
from drying.planner.search import improved
from drying.planner.settle import Settled, settled
from drying.planner.stage import Stage
from drying.planner.stock import Stock
from drying.planner.stopwatch import Progress, Stopwatch
from drying.planner.task import Task, make_task
from drying.proposal import Alternative, Clash, Missing, Plan, PlannedCharge, Reason, Share
from drying.ranges import within

__all__ = [
    "Alternative", "Clash", "Fixing", "KilnOffer", "Lumber", "Missing", "Plan", "PlannedCharge", "Progress", "Reason",
    "Rules", "Share", "clashes", "plan",
]  # fmt: skip

LP_ROUNDS = 25
FIRST = 0.35
"""Share of the time after which the first plan has to do."""
TELLING = 0.8
"""Of the time to the first plan: what it takes to lay a plan out plainly and to tell it."""
POLISHES, POLISHED = 6, 0.88
"""Times that a settled plan is searched again, and the share of the time after which it is not."""
PROVEN = 0.96
"""Share of the time after which the bound is no longer tightened: that comes last, the plan before it."""
PRICED_ANEW = 0.8
"""Share of the time after which no prices are found anew for a bound without orders."""
SEARCH_ROUNDS = (0, 40)
NODES = (20, 60)


def plan(
    stacks: Sequence[Lumber],
    kilns: Sequence[KilnOffer],
    *,
    horizon_days: int = 56,
    careful: bool = False,
    seconds: float = 5.0,
    work_days: Sequence[bool] | None = None,
    in_force: Plan | None = None,
    rules: Rules = Rules(),  # noqa: B008 - frozen
    fixings: Sequence[Fixing] = (),
    progress: Progress | None = None,
    clock: Callable[[], float] = perf_counter,
) -> Plan:
    """The best plan found within about `seconds` for the days from 0 to `horizon_days`.

    `careful` waits for the late (P90) ready days; `work_days` says on which days a run may begin (default: all);
    stacks that keep their place of the plan `in_force` (its days counted from the new day 0) get a bonus; `fixings`
    are kept, the earlier before the later, and those that can't be are told as `unmet`. The same input, in any order
    (but that of the fixings), gives the same plan unless `cut_by_clock`. 1..3660 days, 0..3600 seconds. ValueError
    outside, for double codes and for short series.

    `progress` is called now and then with the share of the time spent, the value of the best plan and the bound so far
    (EUR, infinite before the first); where it answers False, the best plan so far is the answer, as cut by the clock;
    what it raises breaks the planning off at once and goes up.
    `seconds` are those of `clock`: a processor's, say, to measure by on a machine that others use.
    """
    within("horizon", horizon_days, 1, 3660, "days")
    within("time to plan", seconds, 0, 3600, "seconds")
    watch = Stopwatch(seconds, progress, clock)
    with asking(watch.look):
        fixed = Fixed(make_task(stacks, kilns, rules, horizon_days, careful, work_days, in_force), fixings)
        return _planned(Stage(fixed.task, fixed), in_force, watch)


def _planned(stage: Stage, in_force: Plan | None, watch: Stopwatch) -> Plan:
    choose = large.planned if stage.task.large else _choose
    batches, selection, bound = choose(stage, in_force, watch)
    done = _settle(stage, batches, watch)
    if not stage.task.large and not watch.over(0.8):
        done = _polished(stage, _dived(stage, selection, done, watch), watch)
    if selection.columns:
        bound = min(bound, tightened(stage.task, stage.ceilings, stage.lengths, selection, watch, PROVEN))
    return _answer(stage, selection, done, bound, watch)


def _choose(stage: Stage, in_force: Plan | None, watch: Stopwatch) -> tuple[list[Batch], Selection, float]:
    """The best batches found, the prices of the linear program, and the proven bound. Every step keeps the better."""
    task, offers = stage.task, stage.offers
    plans = [repaired(task, offers, in_force, watch), rate_greedy(task, offers).batches]
    best = max(plans, key=lambda one: total(task, one))
    watch.found(total(task, best))
    watch.keep_back(TELLING * watch.spent)
    loose = stage.loose_bound()
    if watch.over(FIRST):
        return best, unpriced(task, loose), loose
    selection = select(
        task, offers, stage.ceilings, stage.lengths, [batch for one in plans for batch in one], watch, LP_ROUNDS
    )
    plans.append(rounded(task, offers, selection, watch).batches)
    best, bound = max(plans, key=lambda one: total(task, one)), min(loose, selection.bound)
    watch.found(total(task, best), bound)
    for rounds, nodes in zip(SEARCH_ROUNDS, NODES, strict=True):
        best, met = improved(task, offers, best, watch, rounds)
        offered, exact = pool(task, offers, selection, [best, *plans, met], total(task, best), watch)
        best, most = chosen(task, offered, best, watch, nodes)
        bound = min(bound, most) if exact else bound
        book = Book(task, best)
        refill(task, offers, book, watch)
        best = book.sorted_batches() if book.value > total(task, best) else best
        watch.found(total(task, best), bound)
    return best, selection, max(bound, 0.0)


def _dived(stage: Stage, selection: Selection, done: list[Settled], watch: Stopwatch) -> list[Settled]:
    """The best of the settled plan and those of the linear program's own runs."""
    for at_once in (True, False):
        if not watch.over(0.8):
            dive = Dive(stage.task, stage.offers, stage.ceilings, stage.lengths, selection)
            found = dive.along(watch, 0.8) if at_once else dive.plan(watch, 0.8)
            done = _better(stage.task, done, _settle(stage, found, watch))
    return done


def _polished(stage: Stage, done: list[Settled], watch: Stopwatch) -> list[Settled]:
    """The settled plan with some of its charges struck out and the gaps filled anew, where that is better laid out."""
    task = stage.task
    for number in range(POLISHES):
        if watch.over(POLISHED):
            break
        batches = [one.batch for one in done]
        found, _ = improved(task, stage.offers, batches, watch, SEARCH_ROUNDS[-1], POLISHED, seed=number)
        if total(task, found) > total(task, batches) + 1e-6:
            done = _better(task, done, _settle(stage, found, watch))
    return done


def _better(task: Task, one: list[Settled], other: list[Settled]) -> list[Settled]:
    return max(one, other, key=lambda some: total(task, [each.batch for each in some]))


def _settle(stage: Stage, batches: Sequence[Batch], watch: Stopwatch) -> list[Settled]:
    """Lays the batches out; where some fell out, fills the gaps once more with what is there."""
    task, offers, stock = stage.task, stage.offers, Stock(stage.task)
    done = settled(task, batches, stock, watch)
    if len(done) == len(batches):
        return done
    book = Book(task, [one.batch for one in done])
    stand = set(book.batches)
    refill(task, offers, book, watch)
    more = settled(task, [batch for batch in book.batches if batch not in stand], stock, watch)
    return sorted([*done, *more], key=lambda one: (one.batch.start, one.batch.kiln))


def _eased(stage: Stage, selection: Selection, batches: Sequence[Batch], watch: Stopwatch) -> float:
    """A bound that orders hardly weigh in: where one can't go whole, the rest of its weight would loosen the bound."""
    task, items = stage.task, stage.task.items
    light = replace(task, order=np.where(task.order > 0, 1e-9, 0.0), worths={})
    if task.large:
        return large.bound(Stage(light, stage.fixed), np.maximum(0.0, selection.stack_prices - task.order))
    prices = np.maximum(0.0, selection.prices - task.order[items.stack] * items.part)
    bare = Stage(light, stage.fixed)
    most = proven(light, bare.ceilings, prices)
    if watch.left < (1 - PRICED_ANEW) * watch.seconds:
        return most
    # The order drove all prices on its days: without it they are found anew.
    rest = Stopwatch(watch.left / 2, clock=watch.clock)
    return min(most, select(light, bare.offers, bare.ceilings, bare.lengths, batches, rest, LP_ROUNDS).bound)


def _answer(stage: Stage, selection: Selection, done: list[Settled], bound: float, watch: Stopwatch) -> Plan:
    task, fixed, offered, offers = stage.task, stage.fixed, stage.offered, stage.offers
    batches = [one.batch for one in done]
    # What orders weigh is no money: it is taken off plan and bound alike, as far as they are carried out. Nor is what
    # staying in place is worth, which the bound never held.
    stayed = sum(s * float(task.kept[one.kiln, stack, one.start]) for one in batches for stack, s in one.shares)
    ordered = sum(share * float(task.order[stack]) for batch in batches for stack, share in batch.shares)
    value, bound = total(task, batches) - ordered - stayed, bound - ordered
    if ordered < float(task.order.sum()) - 1e-6:
        bound = min(bound, _eased(stage, selection, batches, watch))
    if isclose(value, bound, rel_tol=1e-9, abs_tol=1e-6):
        bound = max(bound, value)  # the same sum, added up in another order
    made = charges(task, done, offered)
    return Plan(
        charges=made,
        reasons=fixed.reasons(Reasons(task, offered, offers, selection, batches).all()),
        value=value,
        bound=bound,
        gap=max(0.0, bound - value) / abs(bound) if bound else 0.0,
        seconds=watch.spent,
        cut_by_clock=watch.cut,
        alternatives=() if watch.over() else fixed.other_choices(alternatives(task, offers, batches, watch), made),
        missing=missing(task, done, offered),
        unmet=fixed.unmet(made),
    )
