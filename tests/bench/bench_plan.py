"""Plans against two simple ways to plan and against the proven bound: ratios from one run on invented yards.

First come, first served: on each free kiln-day the stack that was ready first leads, and others that may go with it
join in the order they became ready. First-fit decreasing: the same with the largest volume first. Both obey the
planner's own rules and may top up no charge length by length.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from resource import RUSAGE_SELF, getrusage
from time import process_time

from drying.lanes import first_fit_decreasing, pack
from drying.offers import KilnOffer, Lumber, Rules
from drying.plan import Plan, plan
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
    "20 stacks, 1 kiln by hand, 4 weeks": (20, ("hand",), 28, 7, 60.0, 0.97),
    "60 stacks, 2 kilns by hand, 6 weeks": (60, ("hand", "hand"), 42, 2, 60.0, 0.96),
    "60 stacks, 1 by hand and 1 by pack, 8 weeks": (60, ("hand", "pack"), 56, 1, 60.0, 0.96),
    "200 stacks, 2 by hand and 1 by pack, 8 weeks": (200, ("hand", "hand", "pack"), 56, 3, 60.0, 0.95),
    "2000 stacks, 6 by hand and 4 by pack, 16 weeks": (2000, ("hand",) * 6 + ("pack",) * 4, 112, 5, 150.0, 0.90),
}
"""Stacks, kilns, days, seed, seconds allowed, wanted share of the bound. The generator is fixed: `mill`."""
ENOUGH_SECONDS = 60.0
TWICE = 60
"""Stacks up to which the plan is made a second time, to see that it is the same."""


def figures() -> Iterator[Figure]:
    for name, (number, loadings, days, seed, seconds, wanted) in CASES.items():
        stacks, kilns = mill(number, loadings, days=days, seed=seed)
        yield from _case(name, stacks, kilns, days, seconds, wanted)
    yield from _kept()
    yield from _lanes()


def _case(
    name: str, stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], days: int, seconds: float, wanted: float
) -> Iterator[Figure]:
    open_days = [day % 7 < 5 for day in range(days)]
    course: list[tuple[float, float]] = []

    def heard(share: float, value: float, _bound: float) -> bool:
        course.append((share, value))
        return True

    begun = process_time()
    made = plan(
        stacks, kilns, horizon_days=days, work_days=open_days, seconds=seconds, progress=heard, clock=process_time
    )
    took = process_time() - begun
    faults = verify(made, stacks, kilns, horizon_days=days, work_days=open_days)
    share = made.value / made.bound
    yield Figure(f"{name}: plan / bound", share, "", f"{wanted:.2f} or more", wanted <= share <= 1)
    yield Figure(f"{name}: faults", len(faults), "", "0", not faults)
    yield Figure(f"{name}: work", took, "s of processor", f"{seconds:.0f} s or less", took <= seconds)
    yield Figure(f"{name}: most memory so far", getrusage(RUSAGE_SELF).ru_maxrss / 1024, "MB", "", True)
    yield Figure(f"{name}: first plan heard of / plan", _first(course) / made.value, "", "", True)
    quick = plan(stacks, kilns, horizon_days=days, work_days=open_days, seconds=1.0, clock=process_time)
    yield Figure(f"{name}: plan of one second / plan", quick.value / made.value, "", "", True)
    wrong = len(verify(quick, stacks, kilns, horizon_days=days, work_days=open_days))
    yield Figure(f"{name}: its faults", wrong, "", "0", not wrong)
    if len(stacks) <= TWICE:
        again = plan(stacks[::-1], kilns[::-1], horizon_days=days, work_days=open_days, seconds=seconds)
        same = again.charges == made.charges
        yield Figure(f"{name}: the same twice", float(same), "", "1", same)
    yield from _simple(name, stacks, kilns, days, open_days, made.value)


def _first(course: Sequence[tuple[float, float]]) -> float:
    return next((value for _, value in course if value > 0), 0.0)


def _simple(
    name: str, stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], days: int, open_days: list[bool], value: float
) -> Iterator[Figure]:
    task = make_task(stacks, kilns, Rules(), days, False, open_days, None)
    if task.large:
        return
    first = baseline(task, lambda stack: (task.ready[stack], stack))
    largest = baseline(task, lambda stack: (-task.lumber[stack].volume_m3, stack))
    yield _ratio(f"{name}: first come, first served / plan", first / value)
    yield _ratio(f"{name}: first-fit decreasing / plan", largest / value)


def _kept() -> Iterator[Figure]:
    """One stack a point wetter and one more stack: how many stacks keep kiln and start, and what keeping costs."""
    stacks, kilns = mill(61, ("hand", "pack"), seed=1)
    open_days, rules = [day % 7 < 5 for day in range(56)], Rules()
    made = plan(stacks[:-1], kilns, work_days=open_days, seconds=ENOUGH_SECONDS)
    first = made.charges[0].codes[0]
    changed = [replace(one, moisture_p50_pct=one.moisture_p50_pct + 1) if one.code == first else one for one in stacks]
    values = {}
    for name, bonus in (("free", 0.0), ("keeping", rules.retention)):
        kept = replace(rules, retention=bonus)
        again = plan(changed, kilns, work_days=open_days, seconds=ENOUGH_SECONDS, in_force=made, rules=kept)
        values[name] = again.value
        stayed = _places(made) & _places(again)
        yield Figure(f"replanned {name}: places kept", len(stayed) / len(_places(made)), "", "", True)
        faults = verify(again, changed, kilns, work_days=open_days, rules=kept)
        yield Figure(f"replanned {name}: faults", len(faults), "", "0", not faults)
    yield Figure("replanned keeping / free, value", values["keeping"] / values["free"], "", "", True)


def _places(made: Plan) -> set[tuple[str, int, str]]:
    return {(one.kiln, one.start_day, code) for one in made.charges for code in one.codes}


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
