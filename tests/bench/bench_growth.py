"""What pages cost in invented yards of 1,000, 10,000 and 100,000 stacks with 20 readings each.

In databases of their own: SQLite in files, or beside the one that DATABASE_URL names. `DRYSTACK_GROWTH=1000,10000`
names other sizes. At most logarithmic means: from the smallest to the largest by no more than the logarithm of the
number of stacks does, 5 / 3 from 1,000 to 100,000. All yards are there at once and each page is looked at in each in
turn, since a shared machine's processor is not as fast in one minute as in the next.
"""

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from math import log
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.contrib.auth import get_user_model
from django.db import connections
from django.test import Client
from django.test.utils import override_settings

from tests.bench.big_yard import OWNER, build
from tests.bench.figure import Figure
from tests.bench.pages_timed import Cost, costs_of
from yard.models import NeedLine, Stack

SIZES = [int(one) for one in os.environ.get("DRYSTACK_GROWTH", "1000,10000,100000").split(",")]
PLAIN = "django.contrib.staticfiles.storage.StaticFilesStorage"
LOGARITHMIC = ("stack page", "list, ready first", "list of the ready", "tag's address", "recording a reading", "Today")
"""Those that are wanted so; the others are told."""


def figures() -> Iterator[Figure]:
    plain = {"default": {"BACKEND": "django.core.files.storage.FileSystemStorage"}}
    plain["staticfiles"] = {"BACKEND": PLAIN}
    with ExitStack() as held, override_settings(STORAGES=plain, ALLOWED_HOSTS=["*"]):
        folder = Path(held.enter_context(tempfile.TemporaryDirectory()))
        yards = [held.enter_context(_yard(size, folder)) for size in SIZES]
        looks = []
        for yard in yards:
            connections["default"] = yard
            looks.append(_looks())
        for name in looks[0]:
            yield from _told(name, costs_of(list(zip(yards, (one[name] for one in looks), strict=True))))


@contextmanager
def _yard(size: int, folder: Path) -> Iterator[Any]:
    """The connection to a database with so large a yard."""
    usual = connections["default"]
    made: Any = connections.create_connection("default")
    beside = str(folder / f"{size}.sqlite3") if made.vendor == "sqlite" else f"drystack_growth_{os.getpid()}_{size}"
    usual_name, made.settings_dict = made.settings_dict["NAME"], {**made.settings_dict, "TEST": {
        **made.settings_dict["TEST"], "NAME": beside}}  # fmt: skip
    connections["default"] = made
    try:
        made.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        build(size)
        yield made
    finally:
        connections["default"] = made
        made.creation.destroy_test_db(usual_name, verbosity=0)
        connections["default"] = usual


def _looks() -> dict[str, Callable[[], None]]:
    client = Client()
    client.force_login(get_user_model().objects.get(username=OWNER))
    stack = Stack.objects.drying().order_by("pk")[5]
    line = NeedLine.objects.filter(need__met_at=None).order_by("pk")[0]
    since = _whole_copy(client)

    def got(path: str) -> Callable[[], None]:
        def look() -> None:
            answer = client.get(path)
            if answer.status_code not in (200, 302):
                raise RuntimeError(f"{path} answered {answer.status_code}")

        return look

    def read() -> None:
        fields = {"method": "pins", "values": "18.1 18.4 17.9", "wood_temperature_c": "14"}
        answer = client.post(f"/stacks/{stack.code}/readings/new/", fields, headers={"Idempotency-Key": str(uuid4())})
        if answer.status_code != 302:
            raise RuntimeError(f"a reading was answered {answer.status_code}")

    read()  # which a phone that has all else then hears of
    return {
        "stack page": got(f"/stacks/{stack.code}/"),
        "list, ready first": got("/yard/"),
        "list of the ready": got("/yard/?state=ready"),
        "list, reading due first": got("/yard/?due=on"),
        "Today": got("/"),
        "tag's address": got(f"/t/{stack.code}/"),
        "recording a reading": read,
        "what one reading changed in the copy": got(f"/copy/?since={since}"),
        "a first copy's first page": got("/copy/"),
        "a board found by its size": got("/find/?length=2&width=120&thickness=20&moisture=15&planing=1"),
        "stock and value": got("/stock/"),
        "needs": got("/needs/"),
        "a need": got(f"/needs/{line.need_id}/"),
        "what to saw": got("/sawing/"),
    }


def _whole_copy(client: Client) -> str:
    """The cursor of a phone that has all of it."""
    since, more = "", True
    while more:
        body = client.get("/copy/", {"since": since}).json()
        since, more = body["cursor"], body["more"]
    return str(since)


def _told(name: str, costs: list[Cost]) -> Iterator[Figure]:
    least, most = SIZES[0], SIZES[-1]
    allowed = log(most) / log(least)
    queries = {one.queries for one in costs}
    yield Figure(f"{name}: queries more at {most:,}", max(queries) - min(queries), "", "0", len(queries) == 1)
    for size, one in zip(SIZES, costs, strict=True):
        words = f"{name} at {size:,} ({one.queries} queries, {one.database_ms:.1f} ms of them the database's)"
        yield Figure(words, one.whole_ms, "ms", "told", True)
    ratio = costs[-1].whole_ms / costs[0].whole_ms
    wanted = name in LOGARITHMIC
    goal = f"{allowed:.2f} or less" if wanted else "told"
    yield Figure(f"{name}: {most:,} over {least:,}", ratio, "ratio", goal, ratio <= allowed or not wanted)
