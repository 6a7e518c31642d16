"""The plan in force as a start for the next one: its charges again, as far as stacks and kilns still allow."""

from collections.abc import Sequence

from drying.planner.book import Batch, Book, make_batch
from drying.planner.fill import Filler, Offer
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task
from drying.proposal import Plan, PlannedCharge


def repaired(task: Task, offers: Sequence[Offer], in_force: Plan | None, watch: Stopwatch) -> list[Batch]:
    """Batches with the kiln and start they had; stacks that are gone or do not fit any more are left out."""
    book = Book(task)
    by_kiln = {task.kilns[offer.kiln].code: offer for offer in offers}
    for charge in in_force.charges if in_force else ():
        offer = by_kiln.get(charge.kiln)
        batch = _again(task, offer, charge, book) if offer else None
        if batch is not None and book.takes(batch):
            book.enter(batch)
    return book.sorted_batches()


def _again(task: Task, offer: Offer, charge: PlannedCharge, book: Book) -> Batch | None:
    shares = {one.code: one.share for one in charge.shares}
    old = [stack for stack, one in enumerate(task.lumber) if one.code in shares]
    rows = [row for row, start in enumerate(offer.start.tolist()) if start == charge.start_day]
    if not rows or not old:
        return None
    row = max(rows, key=lambda one: (len(set(old) & set(offer.windows[one].stacks)), -int(offer.days[one]), -one))
    window = offer.windows[row]
    filler = Filler(task, offer.kiln, window.start, window.days)
    for stack in old:
        if stack in window.stacks:
            filler.add(stack, float(book.left[stack]), shares[task.lumber[stack].code])
    return make_batch(task, offer.kiln, window.start, filler.shares, window.stacks)
