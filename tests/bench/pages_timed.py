"""What a page costs: its queries, its processor time and the part of it that the database takes."""

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import connection, connections

REPEATS = 7
LONG_MS = 2000.0
"""What takes so long is looked at three times: a busy machine's noise is a small part of it."""


@dataclass(frozen=True)
class Cost:
    """`queries` of the last look; the least `processor_ms` of this process and `database_ms` of several looks.

    SQLite works in this process, so that its time is in both. PostgreSQL's is in `database_ms` alone: its server
    process's processor time where that runs on this machine (Linux tells it), by the clock elsewhere.
    """

    queries: int
    processor_ms: float
    database_ms: float

    @property
    def whole_ms(self) -> float:
        """Both: SQLite's time is counted once."""
        return self.processor_ms if connection.vendor == "sqlite" else self.processor_ms + self.database_ms


def costs_of(looks: Sequence[tuple[Any, Callable[[], Any]]]) -> list[Cost]:
    """Of looks, each by a connection of its own, in turn. The first of each, which fills caches, does not count."""
    found: list[list[Cost]] = [[] for _ in looks]
    repeats = REPEATS
    for number in range(1 + REPEATS):
        if number > repeats:
            break
        for mine, (one, look) in zip(found, looks, strict=True):
            connections["default"] = one
            mine.append(_once(look))
        if number == 0:
            repeats = 3 if max(mine[0].whole_ms for mine in found) > LONG_MS else REPEATS
    return [_least(mine[1:]) for mine in found]


def _least(found: Sequence[Cost]) -> Cost:
    return Cost(found[-1].queries, min(one.processor_ms for one in found), min(one.database_ms for one in found))


def _once(look: Callable[[], Any]) -> Cost:
    server = _server()
    with _counted() as seen:
        begun, before = time.process_time(), _spent_ms(server)
        look()
        spent, after = time.process_time() - begun, _spent_ms(server)
    return Cost(len(seen), 1000 * spent, after - before if server else 1000 * sum(seen))


def _server() -> Path | None:
    """Where Linux tells what this connection's own PostgreSQL process has spent."""
    if connection.vendor != "postgresql":
        return None
    with connection.cursor() as cursor:
        if not cursor.connection.info.host.startswith("/"):  # a socket is on this machine
            return None
        cursor.execute("SELECT pg_backend_pid()")
        found = Path(f"/proc/{cursor.fetchone()[0]}/schedstat")
    return found if found.exists() else None


def _spent_ms(server: Path | None) -> float:
    return int(server.read_text().split()[0]) / 1e6 if server else 0.0


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
