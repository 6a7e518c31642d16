"""From the moment when nobody wants a plan any more to its end: the longest there is in a whole planning, measured in
the processor's seconds between two questions whether it is still wanted; and a planning broken off at that very moment.
"""

import itertools
from collections.abc import Callable, Iterator
from time import process_time

from drying.plan import plan
from tests.bench.figure import Figure
from tests.drying.lumber import mill

CASES = {60: (("hand", "hand"), 2), 150: (("hand", "hand", "pack"), 4), 200: (("hand", "hand", "pack"), 3)}
"""Stacks, with kilns and seed; eight weeks, invented."""
SECONDS, DAYS, MOST = 60.0, 56, 2.0


class BrokenOffError(Exception):
    """What a caller raises who wants no plan any more."""


def figures() -> Iterator[Figure]:
    for number in CASES:
        asked: list[float] = []
        _plan(number, asked.append)
        gaps = [after - before for before, after in itertools.pairwise(asked)]
        worst = max(gaps)
        yield Figure(
            f"{number} stacks: cancel to stop at worst", worst, "s of processor", f"{MOST:.0f} or less", worst <= MOST
        )
        took = _broken_off(number, asked[gaps.index(worst)] + 0.01)
        yield Figure(
            f"{number} stacks: broken off just then", took, "s of processor", f"{MOST:.0f} or less", took <= MOST
        )


def _plan(number: int, heard: Callable[[float], object]) -> None:
    """Calls `heard` with the seconds since the start whenever the planner asks."""
    loadings, seed = CASES[number]
    stacks, kilns = mill(number, loadings, days=DAYS, seed=seed)
    begun = process_time()

    def progress(_share: float, _value: float, _bound: float) -> bool:
        heard(process_time() - begun)
        return True

    open_days = [day % 7 < 5 for day in range(DAYS)]
    plan(stacks, kilns, horizon_days=DAYS, work_days=open_days, seconds=SECONDS, progress=progress, clock=process_time)
    heard(process_time() - begun)


def _broken_off(number: int, at: float) -> float:
    """Seconds from `at` seconds after the start, when it is cancelled, to the end."""

    def heard(now: float) -> None:
        if now >= at:
            raise BrokenOffError

    begun = process_time()
    try:
        _plan(number, heard)
    except BrokenOffError:
        return process_time() - begun - at
    return 0.0
