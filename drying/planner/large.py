"""Plans of large yards: prices of the market first, then kiln after kiln filled at these prices, and filled anew."""

from collections.abc import Sequence

import numpy as np

from drying.planner.book import Batch, Book, total
from drying.planner.campaign import Campaigns
from drying.planner.columns import Selection, unpriced
from drying.planner.deals import Deals
from drying.planner.fill import extended
from drying.planner.keep import repaired
from drying.planner.market import bound_at, traded
from drying.planner.proof import Proof, proven
from drying.planner.stage import Stage
from drying.planner.stopwatch import Stopwatch
from drying.proposal import Plan

FIRST, MARKET, DEALS, SEARCH, BOUND = 0.35, 0.2, 0.47, 0.62, 0.76
"""Shares of the time after which the first plan has to do, the market ends, no further charges are tried at its prices,
kilns are no longer filled anew, and windows are no longer counted exactly for the bound."""
PRICED = (1.0, 0.5, 0.0)
"""Shares of the prices at which kilns are filled anew in turn: what is left over is worth less in the end."""
CHOICE = 0.03
"""Share of the time left for choosing among all charges at once: it seldom beats a plan filled kiln by kiln."""
SEARCH_ROUNDS, MARKET_ROUNDS, DEAL_ROUNDS, NODES = 200, 30, 25, 20


def planned(stage: Stage, in_force: Plan | None, watch: Stopwatch) -> tuple[list[Batch], Selection, float]:
    """The best batches found, the prices, and the proven bound. Every step keeps the better."""
    task, loose = stage.task, stage.loose_bound()
    campaigns, kilns = Campaigns(task, stage.crowds), range(len(task.kilns))
    plans = [repaired(task, stage.offers, in_force, watch)]
    market = traded(task, stage.crowds, watch, MARKET, MARKET_ROUNDS)
    begun, early = watch.spent, watch.over(FIRST)
    # Prices of a market that has hardly begun are worse than none.
    plans.append(_plan(campaigns, np.zeros(len(task.lumber)) if early else market.prices))
    lap = watch.spent - begun
    best = max(plans, key=lambda one: total(task, one))
    bound = min(loose, market.bound)
    watch.found(total(task, best), bound)
    if watch.over(FIRST):
        return best, unpriced(task, bound), bound
    deals = Deals(campaigns, stage.crowds)
    deals.begin(market.prices, market.day_prices, [batch for one in plans for batch in one])
    for _ in range(DEAL_ROUNDS):
        if not deals.round(watch, DEALS) or watch.over(DEALS):
            break
        deals.solve()
    deals.solve()
    plans += [_plan(campaigns, deals.prices)] if _has_room(watch, lap) else []
    best = max(plans, key=lambda one: total(task, one))
    watch.found(total(task, best))
    deals.offer(best)
    best = deals.chosen(best, watch, NODES, CHOICE)
    best = _searched(campaigns, best, deals, list(kilns), watch)
    watch.found(total(task, best))
    proofs = [Proof(one, campaigns.fitting[one.kiln]) for one in stage.crowds]
    bound = min(bound, proven(proofs, market.steady_prices, watch, BOUND))
    watch.found(total(task, best), bound)
    return best, market.selection(task), max(bound, 0.0)


def bound(stage: Stage, prices: np.ndarray) -> float:
    """What no plan can exceed, at these prices of whole stacks."""
    return bound_at(stage.crowds, prices, [one.profit(prices) for one in stage.crowds])


def _has_room(watch: Stopwatch, lap: float) -> bool:
    """Whether a whole plan more, which takes about `lap` seconds, still fits in before the search ends."""
    return watch.spent + lap <= SEARCH * watch.seconds


def _plan(campaigns: Campaigns, prices: np.ndarray) -> list[Batch]:
    book = Book(campaigns.task)
    campaigns.planned(book, range(len(campaigns.task.kilns)), prices)
    extended(campaigns.task, book)
    return book.sorted_batches()


def _searched(
    campaigns: Campaigns, plan: Sequence[Batch], deals: Deals, kilns: Sequence[int], watch: Stopwatch
) -> list[Batch]:
    """Empties one or two kilns and fills them anew, as long as that pays; the order is drawn from a fixed seed."""
    task, chance = campaigns.task, np.random.default_rng(29)
    best, value = list(plan), total(task, plan)
    for number in range(SEARCH_ROUNDS):
        if watch.over(SEARCH):
            break
        some = chance.permutation(kilns)[: 1 + number % 2].tolist()
        book = Book(task, [one for one in best if one.kiln not in some])
        campaigns.planned(book, some, PRICED[number % len(PRICED)] * deals.prices)
        if book.value > value + 1e-6:
            best, value = book.sorted_batches(), book.value
            watch.found(value)
    book = Book(task, best)
    extended(task, book)
    return book.sorted_batches() if book.value > value else best
