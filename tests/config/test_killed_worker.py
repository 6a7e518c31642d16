"""The worker that serving brings along, killed in the middle of a plan, and its server after it: the plan is made.

On SQLite, in a folder of its own; on a PostgreSQL server as well where DATABASE_URL names one that may make databases.
"""

import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from tests.config.databases import run
from tests.config.test_killed_server import environment  # noqa: F401 - a fixture
from tests.effort import not_in_each_run

STACKS = 34  # enough to be at it for some seconds
PREPARE = f"""
import json, django
django.setup()
from django.utils import timezone
from kilnruns.actions.plannings import ask
from tests.kilnruns.factories import KilnFactory, ready_stack
KilnFactory()
for number in range({STACKS}):
    ready_stack(lines=[(4000, 150, 20 + number), (2500, 120, 10 + number)])
ask(first_day=timezone.localdate(), horizon_days=56, careful=False, by=None)
print(json.dumps("ready"))
"""
PREPARE_COST = PREPARE.replace(
    "ask(first_day=timezone.localdate(), horizon_days=56, careful=False, by=None)",
    """
from kilnruns.actions.reckonings import ask_cost
from kilnruns.models import Fixing
from yard.models import Stack
now = timezone.now()
ask_cost(fixing=Fixing.objects.create(kind="hold", stack=Stack.objects.all()[0], made_at=now), at=now)
""",
)
# A shell starts what it puts in the background deaf to SIGINT, and its children inherit that.
SERVER = """
import signal, sys, time, django
signal.signal(signal.SIGINT, signal.default_int_handler)
django.setup()
from config.worker import EmbeddedWorker
with EmbeddedWorker() as worker:
    seen = None
    while True:
        time.sleep(0.02)
        process = worker.process
        if process is not None and process.pid != seen:
            seen = process.pid
            print(seen, flush=True)
"""
Row = tuple[Any, ...]


@pytest.fixture
def serving(environment: dict[str, str]) -> Iterator[Callable[[], "subprocess.Popen[str]"]]:  # noqa: F811
    """Starts a process with an embedded worker; it tells each worker's process number on a line."""
    started: list[subprocess.Popen[str]] = []

    def start() -> "subprocess.Popen[str]":
        command = [sys.executable, "-c", SERVER]
        process = subprocess.Popen(
            command,
            cwd=settings.BASE_DIR,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.wait()
        if process.stdout:
            process.stdout.close()


def told(process: "subprocess.Popen[str]") -> int:
    assert process.stdout is not None
    return int(process.stdout.readline())


def planning(environment: dict[str, str]) -> Row:  # noqa: F811
    """Worker, tries, whether it is finished, whether it failed; number of plans. Asked past Django, for speed."""
    query = (
        "select worker, tries, finished_at is not null, failed_at is not null, (select count(*) from kilnruns_plan "
        "where made_by_id is null and id in (select plan_id from kilnruns_planning)) from kilnruns_planning"
    )
    return row_of(environment, query)


def row_of(environment: dict[str, str], query: str) -> Row:  # noqa: F811
    address = environment.get("DATABASE_URL")
    if address:
        psycopg = pytest.importorskip("psycopg")
        with psycopg.connect(address) as line:
            return tuple(line.execute(query).fetchone())
    with closing(sqlite3.connect(Path(environment["DRYSTACK_DATA"]) / "drystack.sqlite3", timeout=20)) as line:
        return tuple(line.execute(query).fetchone())


def wait_until(true: Callable[[], bool], what: str) -> None:
    for _try in range(6000):
        if true():
            return
        time.sleep(0.02)
    raise AssertionError(f"waited in vain until {what}")


def is_alive(number: int) -> bool:
    """Whether the process still works; one that ended but was not waited for does not."""
    try:
        return Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.postgres
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks at processes in /proc")
def test_a_plan_in_work_survives_its_worker_and_its_server(
    environment: dict[str, str],  # noqa: F811
    serving: Callable[[], "subprocess.Popen[str]"],
) -> None:
    run(PREPARE, environment)
    server = serving()
    first = told(server)
    wait_until(lambda: planning(environment)[0] != "", "the first worker has it")
    os.kill(first, signal.SIGKILL)
    assert not planning(environment)[2]

    second = told(server)
    assert second != first
    wait_until(lambda: planning(environment)[:2] != ("", 1) and planning(environment)[1] == 2, "it is tried again")
    server.send_signal(signal.SIGKILL)
    server.wait()
    wait_until(lambda: not is_alive(second), "the worker has followed its server")
    worker, tries, is_finished, _failed, _plans = planning(environment)
    assert (worker, tries, is_finished) == ("", 2, 0)

    both = [serving(), serving()]
    wait_until(lambda: bool(planning(environment)[2] or planning(environment)[3]), "it is made")
    worker, tries, is_finished, has_failed, plans = planning(environment)
    assert (tries, bool(is_finished), bool(has_failed), plans) == (3, True, False, 1)
    workers = [told(one) for one in both]
    for one in both:
        one.send_signal(signal.SIGINT)
    wait_until(lambda: not any(is_alive(number) for number in workers), "the workers have ended with their servers")


@not_in_each_run
@pytest.mark.postgres
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks at processes in /proc")
def test_what_a_fixing_costs_is_reckoned_though_its_worker_is_killed(
    environment: dict[str, str],  # noqa: F811
    serving: Callable[[], "subprocess.Popen[str]"],
) -> None:
    query = (
        "select r.worker, r.tries, r.finished_at is not null, f.cost is not null"
        " from kilnruns_reckoning r join kilnruns_fixing f on f.id = r.fixing_id"
    )
    assert run(PREPARE_COST, environment) == "ready"
    server = serving()
    first = told(server)
    wait_until(lambda: row_of(environment, query)[0] != "", "the first worker has it")
    os.kill(first, signal.SIGKILL)
    assert not row_of(environment, query)[2]
    assert told(server) != first
    wait_until(lambda: bool(row_of(environment, query)[2]), "it is reckoned by the next")
    _worker, tries, _is_finished, is_kept = row_of(environment, query)
    assert (tries, bool(is_kept)) == (2, True)
