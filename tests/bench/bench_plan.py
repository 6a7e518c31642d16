"""Plans against two simple ways to plan and against the proven bound: ratios from one run on invented yards.

First come, first served: on each free kiln-day the stack that was ready first leads, and others that may go with it
join in the order they became ready. First-fit decreasing: the same with the largest volume first. Both obey the
planner's own rules and may top up no charge length by length.
"""

from collections.abc import Callable, Iterator, Sequence
from time import process_time

from drying.lanes import first_fit_decreasing, pack
from drying.offers import KilnOffer, Lumber, Rules
from drying.plan import plan
from drying.planner.book import Batch, Book, make_batch, total
from drying.planner.fill import Filler
from drying.planner.task import Task, make_task
from drying.planner.wholes import Fitting
from drying.planner.windows import Window, windows
from drying.verify import verify
from tests.bench.figure import Figure
from tests.drying.lumber import mill
from tests.drying.test_lanes import triplets

CASES = {
    "20 stacks, 1 kiln by hand, 4 weeks": (20, ("hand",), 28, 7),
    "60 stacks, 2 kilns by hand, 6 weeks": (60, ("hand", "hand"), 42, 2),
    "60 stacks, 1 by hand and 1 by pack, 8 weeks": (60, ("hand", "pack"), 56, 1),
}
ENOUGH_SECONDS = 60.0


def figures() -> Iterator[Figure]:
    for name, (number, loadings, days, seed) in CASES.items():
        stacks, kilns = mill(number, loadings, days=days, seed=seed)
        yield from _case(name, stacks, kilns, days)
    yield from _lanes()


def _case(name: str, stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], days: int) -> Iterator[Figure]:
    open_days = [day % 7 < 5 for day in range(days)]
    begun = process_time()
    made = plan(stacks, kilns, horizon_days=days, work_days=open_days, seconds=ENOUGH_SECONDS)
    took = process_time() - begun
    task = make_task(stacks, kilns, Rules(), days, False, open_days, None)
    first = baseline(task, lambda stack: (task.ready[stack], stack))
    largest = baseline(task, lambda stack: (-task.lumber[stack].volume_m3, stack))
    faults = verify(made, stacks, kilns, horizon_days=days, work_days=open_days)
    yield _ratio(f"{name}: first come, first served / plan", first / made.value)
    yield _ratio(f"{name}: first-fit decreasing / plan", largest / made.value)
    share = made.value / made.bound
    yield Figure(f"{name}: plan / bound", share, "", "0.8 or more", 0.8 <= share <= 1)
    yield Figure(f"{name}: faults", len(faults), "", "0", not faults)
    yield Figure(f"{name}: work", took, "s of processor", "5 s or less", took <= 5)
    fill = min((charge.of_attainable for charge in made.charges), default=0.0)
    yield Figure(f"{name}: emptiest charge, fill of attainable", fill, "", "", True)


def _ratio(name: str, value: float) -> Figure:
    return Figure(name, value, "", "1 or less", value <= 1)


def baseline(task: Task, rank: Callable[[int], tuple]) -> float:
    """EUR of the plan made day by day: the first in rank leads, those that may go with it follow in rank."""
    book = Book(task)
    order = sorted(range(len(task.lumber)), key=rank)
    offered = {kiln: windows(task, kiln) for kiln in range(len(task.kilns))}
    fitting = {kiln: Fitting(task, kiln) for kiln in offered}
    for day in range(task.horizon):
        for kiln, some in offered.items():
            here = [window for window in some if window.start == day]
            batch = None if book.busy[kiln, day] else _led(task, kiln, here, order, book, fitting[kiln])
            if batch is not None:
                book.enter(batch)
    return total(task, book.batches)


def _led(
    task: Task, kiln: int, offered: Sequence[Window], order: Sequence[int], book: Book, fits: Fitting
) -> Batch | None:
    for leader in order:
        for window in (one for one in offered if leader in one.stacks):
            if book.left[leader] < 1:
                continue
            filler = Filler(task, kiln, window.start, window.days)
            for stack in [leader, *(one for one in order if one in window.stacks and one != leader)]:
                if task.kilns[kiln].divides or (book.left[stack] == 1 and fits([*filler.shares, stack])):
                    _add(filler, stack, float(book.left[stack]), task.kilns[kiln].divides)
            batch = make_batch(task, kiln, window.start, filler.shares, window.stacks)
            if batch is not None and book.takes(batch):
                return batch
    return None


def _add(filler: Filler, stack: int, left: float, divides: bool) -> None:
    if divides:
        filler.add(stack, left)
    else:
        filler.shares[stack] = 1.0


def _lanes() -> Iterator[Figure]:
    """Triplets, whose optimum is a third of their number: bins above it, and those of first-fit decreasing."""
    above = plain = 0
    for seed in range(3):
        sizes = triplets(30, seed)
        above += len(pack(sizes, 1000).bins) - 30
        plain += len(first_fit_decreasing(sizes, 1000)) - 30
    yield Figure("3 x 90 triplets, bins above the optimum", above, "bins", "0", above == 0)
    yield Figure("3 x 90 triplets, first-fit decreasing above it", plain, "bins", "", True)
