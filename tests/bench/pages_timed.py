"""What a page costs: its queries, its processor time and the part of it that the database takes."""

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.db import connection

REPEATS = 7


@dataclass(frozen=True)
class Cost:
    """`queries` of the last look; the least `processor_ms` of this process and `database_ms` of several looks.

    SQLite works in this process, so that its time is in both; PostgreSQL's is in `database_ms` alone, by the clock.
    """

    queries: int
    processor_ms: float
    database_ms: float

    @property
    def whole_ms(self) -> float:
        """Both: SQLite's time is counted once."""
        return self.processor_ms if connection.vendor == "sqlite" else self.processor_ms + self.database_ms


def cost_of(look: Callable[[], Any], repeats: int = REPEATS) -> Cost:
    """The first look, which fills caches, does not count."""
    look()
    found = [_once(look) for _ in range(repeats)]
    return Cost(found[-1].queries, min(one.processor_ms for one in found), min(one.database_ms for one in found))


def _once(look: Callable[[], Any]) -> Cost:
    with _counted() as seen:
        begun = time.process_time()
        look()
        spent = time.process_time() - begun
    return Cost(len(seen), 1000 * spent, 1000 * sum(seen))


@contextmanager
def _counted() -> Iterator[list[float]]:
    seen: list[float] = []
    clock = time.thread_time if connection.vendor == "sqlite" else time.perf_counter

    def around(execute: Any, *args: Any) -> Any:
        begun = clock()
        try:
            return execute(*args)
        finally:
            seen.append(clock() - begun)

    with connection.execute_wrapper(around):
        yield seen
