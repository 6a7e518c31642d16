"""Plans made charge by charge: at once, and around charges that stand already."""

from collections.abc import Sequence

import numpy as np

from drying.planner.book import Batch, Book
from drying.planner.fill import Offer, by_density, extended, filled, rate
from drying.planner.parts import Parts
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task
from drying.planner.wholes import Wholes

CLOSER_LOOKS = 12
"""Windows whose load is really filled, after all were ranked by the fractional estimate."""


def rate_greedy(task: Task, offers: Sequence[Offer]) -> Book:
    """Day by day: each free kiln begins the charge that brings most a day. Never cut short: it is the first plan."""
    book = Book(task)
    by_kiln = {offer.kiln: offer for offer in offers}
    for day in range(task.horizon):
        for kiln in range(len(task.kilns)):
            if kiln not in by_kiln or book.busy[kiln, day] or not task.starts[kiln, day]:
                continue
            rows = np.flatnonzero(by_kiln[kiln].start == day)
            batch = _best(by_kiln[kiln], rows, book, None)
            if batch is not None:
                book.enter(batch)
    return book


def refill(
    task: Task, offers: Sequence[Offer], book: Book, watch: Stopwatch, weights: np.ndarray | None = None
) -> None:
    """Puts the charge of the best daily rate into a gap, until none pays; then tops up what stands."""
    while not watch.over():
        found = [batch for offer in offers if (batch := _best(offer, _free_rows(offer, book), book, weights))]
        if not found:
            break
        book.enter(max(found, key=lambda one: (rate(task, one), -one.start, -one.kiln)))
    extended(task, book)


def _free_rows(offer: Offer, book: Book) -> np.ndarray:
    """Rows whose days are all free."""
    busy = np.concatenate([[0], np.cumsum(book.busy[offer.kiln])])
    end = np.minimum(offer.start + offer.days, offer.task.horizon)
    return np.flatnonzero(busy[end] == busy[offer.start])


def _best(offer: Offer, rows: np.ndarray, book: Book, weights: np.ndarray | None) -> Batch | None:
    """The paying batch of most EUR a day among these rows."""
    if not len(rows):
        return None
    task = offer.task
    profit = offer.profits(rows, book.left)
    estimate = profit / np.minimum(offer.days[rows], task.horizon - offer.start[rows])
    if weights is not None:
        estimate = estimate * weights[_lead(offer, rows)]
    ranked = np.lexsort((rows, -estimate))
    looks = 1 if isinstance(offer, Wholes) else CLOSER_LOOKS
    batches = [_look(offer, int(rows[one]), book, weights) for one in ranked[:looks] if profit[one] > 0]
    paying = [one for one in batches if one is not None and rate(task, one) > 0 and book.takes(one)]
    return max(paying, key=lambda one: (rate(task, one), -one.start, one.shares), default=None)


def _lead(offer: Offer, rows: np.ndarray) -> np.ndarray:
    """One stack of each row, whose weight disturbs the ranking."""
    if isinstance(offer, Parts):
        return offer.stacks[rows, 0]
    return offer.holds[rows].argmax(axis=1)


def _look(offer: Offer, row: int, book: Book, weights: np.ndarray | None) -> Batch | None:
    start, days = int(offer.start[row]), int(offer.days[row])
    order = by_density(offer.task, offer.kiln, start, days, offer.windows[row].stacks, weights)
    return filled(offer, row, book.left, order)
