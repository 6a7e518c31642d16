"""Which stacks dry together, in which kiln and when, and why each of the others does not.

Charges are found by column generation and chosen by an integer program, each is really laid out, and what the plan is
worth is compared with a bound that no plan can exceed. The method: Gilmore and Gomory's columns (1961) for charges
over time; named from memory.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from drying.offers import Fixing, KilnOffer, Lumber, Rules
from drying.planner.answer import charges
from drying.planner.book import Batch, Book, total
from drying.planner.ceiling import Ceiling
from drying.planner.choices import alternatives, missing
from drying.planner.columns import Selection, select
from drying.planner.columns import bound as proven
from drying.planner.fill import Offer
from drying.planner.fixings import Fixed, clashes
from drying.planner.greedy import rate_greedy, refill
from drying.planner.keep import repaired
from drying.planner.master import chosen, pool, rounded
from drying.planner.parts import Parts
from drying.planner.reasons import Reasons
from drying.planner.search import improved
from drying.planner.settle import Settled, Stock, settled
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task, make_task
from drying.planner.wholes import Wholes
from drying.planner.windows import Window, windows
from drying.proposal import Alternative, Clash, Missing, Plan, PlannedCharge, Reason, Share
from drying.ranges import within

__all__ = [
    "Alternative", "Clash", "Fixing", "KilnOffer", "Lumber", "Missing", "Plan", "PlannedCharge", "Reason", "Rules",
    "Share", "clashes", "plan",
]  # fmt: skip

LP_ROUNDS = 25
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
) -> Plan:
    """The best plan found within about `seconds` for the days from 0 to `horizon_days`.

    `careful` waits for the late (P90) ready days; `work_days` says on which days a run may begin (default: all);
    stacks that keep their place of the plan `in_force` (its days counted from the new day 0) get a bonus; `fixings`
    are kept, the earlier before the later, and those that can't be are told as `unmet`. The same input, in any order
    (but that of the fixings), gives the same plan unless `cut_by_clock`. 1..3660 days, 0..3600 seconds. ValueError
    outside, for double codes and for short series.
    """
    within("horizon", horizon_days, 1, 3660, "days")
    within("time to plan", seconds, 0, 3600, "seconds")
    watch = Stopwatch(seconds)
    fixed = Fixed(make_task(stacks, kilns, rules, horizon_days, careful, work_days, in_force), fixings)
    task = fixed.task
    offered = {kiln: fixed.allowed(kiln, windows(task, kiln)) for kiln in range(len(task.kilns))}
    offers, ceilings = _offers(task, offered)
    batches, selection, bound = _choose(task, offers, ceilings, in_force, watch)
    stock = Stock(task)
    done = _settle(task, offers, batches, stock, watch)
    return _answer(task, fixed, offered, offers, selection, done, bound, watch)


def _offers(task: Task, offered: Mapping[int, Sequence[Window]]) -> tuple[list[Offer], list[Ceiling | Wholes]]:
    offers: list[Offer] = []
    ceilings: list[Ceiling | Wholes] = []
    for kiln, offer in enumerate(task.kilns):
        some = offered[kiln]
        if offer.divides:
            offers.append(Parts(task, kiln, some))
            ceilings.append(Ceiling(task, kiln, some))
        else:
            whole = Wholes(task, kiln, some)
            offers.append(whole)
            ceilings.append(whole if whole.complete else Ceiling(task, kiln, some))
    return offers, ceilings


def _choose(
    task: Task, offers: list[Offer], ceilings: list[Ceiling | Wholes], in_force: Plan | None, watch: Stopwatch
) -> tuple[list[Batch], Selection, float]:
    """The best batches found, the prices of the linear program, and the proven bound. Every step keeps the better."""
    plans = [repaired(task, offers, in_force, watch), rate_greedy(task, offers, watch).batches]
    selection = select(task, offers, ceilings, [batch for one in plans for batch in one], watch, LP_ROUNDS)
    plans.append(rounded(task, offers, selection, watch).batches)
    bound = selection.bound
    best = max(plans, key=lambda one: total(task, one))
    for rounds, nodes in zip(SEARCH_ROUNDS, NODES, strict=True):
        best, met = improved(task, offers, best, watch, rounds)
        offered, exact = pool(task, offers, selection, [best, *plans, met], total(task, best))
        best, proven = chosen(task, offered, best, watch, nodes)
        bound = min(bound, proven) if exact else bound
        book = Book(task, best)
        refill(task, offers, book, watch)
        best = book.sorted_batches() if book.value > total(task, best) else best
    return best, selection, max(bound, 0.0)


def _settle(task: Task, offers: list[Offer], batches: Sequence[Batch], stock: Stock, watch: Stopwatch) -> list[Settled]:
    """Lays the batches out; where some fell out, fills the gaps once more with what is there."""
    done = settled(task, batches, stock, watch)
    if len(done) == len(batches):
        return done
    book = Book(task, [one.batch for one in done])
    stand = set(book.batches)
    refill(task, offers, book, watch)
    more = settled(task, [batch for batch in book.batches if batch not in stand], stock, watch)
    return sorted([*done, *more], key=lambda one: (one.batch.start, one.batch.kiln))


def _eased(task: Task, offered: Mapping[int, Sequence[Window]], selection: Selection) -> float:
    """A bound that orders hardly weigh in: where one can't go whole, the rest of its weight would loosen the bound."""
    light = replace(task, order=np.where(task.order > 0, 1e-9, 0.0), worths={})
    return proven(light, _offers(light, offered)[1], np.maximum(0.0, selection.stack_prices - task.order))


def _answer(
    task: Task,
    fixed: Fixed,
    offered: Mapping[int, Sequence[Window]],
    offers: list[Offer],
    selection: Selection,
    done: list[Settled],
    bound: float,
    watch: Stopwatch,
) -> Plan:
    batches = [one.batch for one in done]
    # What orders weigh is no money: it is taken off plan and bound alike, as far as they are carried out.
    ordered = sum(share * float(task.order[stack]) for batch in batches for stack, share in batch.shares)
    value, bound = total(task, batches) - ordered, bound - ordered
    if ordered < float(task.order.sum()) - 1e-6:
        bound = min(bound, _eased(task, offered, selection))
    made = charges(task, done, offered)
    return Plan(
        charges=made,
        reasons=fixed.reasons(Reasons(task, offered, offers, selection, batches).all()),
        value=value,
        bound=bound,
        gap=max(0.0, bound - value) / abs(bound) if bound else 0.0,
        seconds=watch.spent,
        cut_by_clock=watch.cut,
        alternatives=fixed.other_choices(alternatives(task, offers, batches, watch), made),
        missing=missing(task, done, offered),
        unmet=fixed.unmet(made),
    )
