"""What pages cost in invented yards of 1,000, 10,000 and 100,000 stacks with 20 readings each.

In a database of its own: SQLite in a file, or beside the one that DATABASE_URL names. `DRYSTACK_GROWTH=1000,10000`
names other sizes. At most logarithmic means: from the smallest to the largest by no more than the logarithm of the
number of stacks does, 5 / 3 from 1,000 to 100,000.
"""

import os
import tempfile
from collections.abc import Callable, Iterator
from math import log
from pathlib import Path
from uuid import uuid4

from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import override_settings, setup_databases, teardown_databases

from tests.bench.big_yard import OWNER, build
from tests.bench.figure import Figure
from tests.bench.pages_timed import Cost, cost_of
from yard.models import NeedLine, Stack

SIZES = [int(one) for one in os.environ.get("DRYSTACK_GROWTH", "1000,10000,100000").split(",")]
PLAIN = "django.contrib.staticfiles.storage.StaticFilesStorage"
LOGARITHMIC = ("stack page", "list, ready first", "list of the ready", "tag's address", "recording a reading")
"""Those that are wanted so; the others are told."""


def figures() -> Iterator[Figure]:
    with tempfile.TemporaryDirectory() as folder:
        if connection.vendor == "sqlite":
            connection.settings_dict["TEST"]["NAME"] = str(Path(folder) / "growth.sqlite3")
        databases = setup_databases(verbosity=0, interactive=False)
        try:
            plain = {"default": {"BACKEND": "django.core.files.storage.FileSystemStorage"}}
            plain["staticfiles"] = {"BACKEND": PLAIN}
            with override_settings(STORAGES=plain, ALLOWED_HOSTS=["*"]):
                yield from _told({size: _costs(size) for size in SIZES})
        finally:
            teardown_databases(databases, verbosity=0)


def _costs(size: int) -> dict[str, Cost]:
    call_command("flush", verbosity=0, interactive=False)
    build(size)
    client = Client()
    client.force_login(get_user_model().objects.get(username=OWNER))
    return {name: cost_of(look) for name, look in _looks(client).items()}


def _looks(client: Client) -> dict[str, Callable[[], None]]:
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
        "a board found by its size": got("/find/?length=2&width=120&thickness=20&moisture=15&planing=1"),
        "needs": got("/needs/"),
        "a need": got(f"/needs/{line.need_id}/"),
        "stock and value": got("/stock/"),
        "what one reading changed in the copy": got(f"/copy/?since={since}"),
        "a first copy's first page": got("/copy/"),
        "recording a reading": read,
    }


def _whole_copy(client: Client) -> str:
    """The cursor of a phone that has all of it."""
    since, more = "", True
    while more:
        body = client.get("/copy/", {"since": since}).json()
        since, more = body["cursor"], body["more"]
    return str(since)


def _told(found: dict[int, dict[str, Cost]]) -> Iterator[Figure]:
    least, most = SIZES[0], SIZES[-1]
    allowed = log(most) / log(least)
    for name in found[least]:
        costs = [found[size][name] for size in SIZES]
        queries = {one.queries for one in costs}
        yield Figure(f"{name}: queries more at {most:,}", max(queries) - min(queries), "", "0", len(queries) == 1)
        for size, one in zip(SIZES, costs, strict=True):
            words = f"{name} at {size:,} ({one.queries} queries, {one.database_ms:.1f} ms of them the database's)"
            yield Figure(words, one.whole_ms, "ms", "told", True)
        ratio = costs[-1].whole_ms / costs[0].whole_ms
        wanted = name in LOGARITHMIC
        goal = f"{allowed:.2f} or less" if wanted else "told"
        yield Figure(f"{name}: {most:,} over {least:,}", ratio, "ratio", goal, ratio <= allowed or not wanted)
