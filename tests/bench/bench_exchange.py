"""Sheets of many stacks: tried, taken with their forecasts, given out; what 2,000 rows cost beside 500.

In a database of its own: SQLite in memory, or beside the one that DATABASE_URL names.
"""

from collections.abc import Callable, Iterator
from time import process_time
from typing import Any

from django.test.utils import setup_databases, teardown_databases
from django.utils import timezone

from tests.bench.figure import Figure
from yard.models import Board, Outlook, SentSheet, Stack, Tag

FEW, MANY = 500, 2000
HEAD = "tag;species;place;thickness_mm;sawn_on;tally\n"


def figures() -> Iterator[Figure]:
    databases = setup_databases(verbosity=0, interactive=False)
    try:
        yield from _measured()
    finally:
        teardown_databases(databases, verbosity=0)


def _measured() -> Iterator[Figure]:
    from tests.factories import PlaceFactory, SpeciesFactory

    SpeciesFactory(name="Testspruce")
    PlaceFactory(name="Long shed")
    few, many = _seconds(FEW), _seconds(MANY)
    for what, goal in (("tried", 10.0), ("taken, with forecasts", 60.0), ("given out and found the same", 10.0)):
        yield Figure(f"{MANY} stacks {what}", many[what], "s of processor", f"{goal:g} or less", many[what] <= goal)
        more = many[what] / few[what]
        yield Figure(f"{what}: {MANY} rows / {FEW} rows", more, "ratio", "5 or less", more <= 5)


def _seconds(rows: int) -> dict[str, float]:
    from yard.actions.sentsheets import take
    from yard.exchange import sheets

    Outlook.objects.all().delete()
    for model in (Tag, Board, Stack):
        model._base_manager.all().delete()
    content = (HEAD + ';Testspruce;Long shed;27;2025-04-03;"4000x150x24; 3000x125x10"\n' * rows).encode()
    now, spent = timezone.now(), {}
    spent["tried"], fates = _timed(lambda: sheets.fates("stacks", content, now), 5)
    steps = [fate.step for fate in fates if fate.step]
    sheet = SentSheet.objects.create(by=_sender(), kind="stacks", name="a", content=b"", sent_at=now)
    spent["taken, with forecasts"], _done = _timed(lambda: take(sheet=sheet, steps=steps, by=sheet.by, at=now))
    assert (Stack.objects.count(), Outlook.objects.count()) == (rows, rows)
    spent["given out and found the same"], fates = _timed(
        lambda: sheets.fates("stacks", sheets.export("stacks", "csv"), now), 3
    )
    assert {fate.kind for fate in fates} == {"same"}
    return spent


def _timed(work: Callable[[], Any], times: int = 1) -> tuple[float, Any]:
    """Of what only reads, the least of a few times: other work on the machine slows short spans most."""
    spans = []
    for _ in range(times):
        begun = process_time()
        done = work()
        spans.append(process_time() - begun)
    return min(spans), done


def _sender() -> Any:
    from tests.factories import UserFactory

    return UserFactory()
