"""From the linear program to a plan: rounding its columns, and a small integer program that chooses among charges."""

from collections.abc import Iterable, Sequence

import numpy as np

from drying.packing.solver import INFINITY, Program
from drying.planner.book import Batch, Book, taken, total, worth
from drying.planner.columns import Selection
from drying.planner.fill import Offer, refitted
from drying.planner.greedy import refill
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task
from drying.planner.wholes import Wholes

POOL = 1600
"""Charges offered to the integer program: with twice as many the solver takes twice as long."""


def rounded(task: Task, offers: Sequence[Offer], selection: Selection, watch: Stopwatch, orders: int = 6) -> Book:
    """Columns by falling use, as far as they can still be filled, then the gaps; a few disturbed orders as well."""
    chance = np.random.default_rng(11)
    used = np.array(selection.uses)
    rows = np.flatnonzero(used > 1e-6)
    best = Book(task)
    for number in range(orders):
        noise = np.ones(len(rows)) if number == 0 else chance.uniform(0.3, 1.0, len(rows))
        book = Book(task)
        for row in rows[np.lexsort((rows, -used[rows] * noise))]:
            column = selection.columns[row]
            batch = refitted(task, column, book.left)
            if batch and book.takes(batch) and _full(task, batch) >= 0.8 * min(1.0, _full(task, column)):
                book.enter(batch)
        refill(task, offers, book, watch)
        if book.value > best.value:
            best = book
        if watch.over(0.6):
            break
    return best


def _full(task: Task, batch: Batch) -> float:
    return taken(task, batch.kiln, batch.shares)


def pool(
    task: Task,
    offers: Sequence[Offer],
    selection: Selection,
    plans: Iterable[Sequence[Batch]],
    best: float,
    watch: Stopwatch,
) -> tuple[list[Batch], bool]:
    """Whole-layer charges for the integer program, those of the plans first, then by how little they fall short of
    their prices. And whether it holds every charge that a better plan could contain: one that falls short by more
    than the linear program's value exceeds `best` cannot be in one, once no charge exceeds its prices any more."""
    found = dict.fromkeys(batch for plan in plans for batch in plan)
    slack = float(selection.stack_prices.sum() + selection.day_prices.sum()) - best + 1e-6
    whole = np.ones(len(task.lumber))
    exact = True
    near: list[tuple[float, int, Batch]] = []
    for column, value in zip(selection.columns, selection.values, strict=True):
        if watch.over(0.8):
            exact = False
            break
        short = -selection.reduced(column, value)
        if short <= slack and (batch := refitted(task, column, whole)):
            near.append((short, len(near), batch))
    for offer in offers:
        exact &= isinstance(offer, Wholes) and offer.complete
        if isinstance(offer, Wholes):
            reduced = offer.profit(selection.stack_prices) - selection.rent(offer.kiln, offer.start, offer.days)
            exact &= bool(reduced.max(initial=0.0) <= 1e-5)
            rows = np.argsort(-reduced, kind="stable")[:POOL]
            near += [
                (-float(reduced[row]), len(near) + int(row), offer.batch(int(row), offer.holds))
                for row in rows
                if -reduced[row] <= slack
            ]
    for _, _, batch in sorted(near, key=lambda one: one[:2]):
        found.setdefault(batch)
    kept = list(found)[:POOL]
    return kept, exact and len(kept) == len(found)


def chosen(
    task: Task, batches: Sequence[Batch], start: Sequence[Batch], watch: Stopwatch, nodes: int
) -> tuple[list[Batch], float]:
    """The best plan made of these charges that the solver finds, at least `start`; and its proven bound for them."""
    program, splits = _program(task, batches)
    inside = set(start)
    parts = np.zeros(len(task.lumber))
    for batch in start:
        for stack, _ in batch.shares:
            parts[stack] += 1
    program.start_from([*(float(one in inside) for one in batches), *(max(0.0, parts[stack] - 1) for stack in splits)])
    seconds = max(0.05, watch.left_on_wall(0.6))
    if not program.solve(nodes=nodes, gap=1e-5, seconds=seconds):
        return list(start), INFINITY
    watch.cut |= program.out_of_time
    plan = [batch for batch, use in zip(batches, program.values, strict=False) if use > 0.5]
    return (plan if total(task, plan) > total(task, start) else list(start)), -program.bound


def _program(task: Task, batches: Sequence[Batch]) -> tuple[Program, list[int]]:
    """Rows: every stack at most once; further parts of a split stack; every kiln-day at most once."""
    number, horizon = len(task.lumber), task.horizon
    upper = [1.0 + 1e-7] * number + [1.0] * number + [1.0] * (len(task.kilns) * horizon)
    program = Program([-INFINITY] * len(upper), upper)
    splits: set[int] = set()
    for batch in batches:
        first = 2 * number + batch.kiln * horizon
        days = range(first + batch.start, first + min(batch.end, horizon))
        part = [stack for stack, share in batch.shares if share < 1 - 1e-6]
        splits.update(part)
        rows = [*(stack for stack, _ in batch.shares), *(number + stack for stack in part), *days]
        shares = [share for _, share in batch.shares]
        program.add(-worth(task, batch), rows, [*shares, *(1.0 for _ in part), *(1.0 for _ in days)], 1.0, whole=True)
    ordered = sorted(splits)
    for stack in ordered:
        program.add(task.rules.split_cost, [number + stack], [-1.0])
    return program, ordered
