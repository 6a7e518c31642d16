"""Fifty phones and twenty people at desks (`load_phones`) for some minutes, at two server processes on one database.

An invented yard of DRYSTACK_CROWD_STACKS (100,000) is built first, into the database that DATABASE_URL names, which
must be empty, or SQLite's in DRYSTACK_DATA; one that is there already is taken as it is. Times are by the clock, so
that they are the machine's as much as ours: the servers' processor time a request stands beside them.
"""

import csv
import os
import random
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import ExitStack
from importlib import import_module
from pathlib import Path

from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY, get_user_model
from django.core.management import call_command

from tests.bench.big_yard import build
from tests.bench.figure import Figure
from yard.models import Reading, Stack

STACKS = int(os.environ.get("DRYSTACK_CROWD_STACKS", "100000"))
MINUTES = float(os.environ.get("DRYSTACK_CROWD_MINUTES", "5"))
PORT, SERVERS, ASKED, SESSIONS = 8471, 2, 500, 70
BACKEND = "django.contrib.auth.backends.ModelBackend"
HERE = Path(__file__).resolve().parent


def figures() -> Iterator[Figure]:
    call_command("migrate", verbosity=0)
    if not Stack.objects.exists():
        build(STACKS)
    with tempfile.TemporaryDirectory() as name, ExitStack() as open_ones:
        folder = Path(name)
        servers = [open_ones.enter_context(_Server(PORT + number, folder)) for number in range(SERVERS)]
        before = sum(one.processor_seconds() for one in servers)
        rows = _crowd(folder, [one.address for one in servers])
        spent = sum(one.processor_seconds() for one in servers) - before
        yield from _told(rows, spent)
        yield from _kept(folder / "acknowledged")


class _Server:
    """`manage.py serve` as one would run it, waited for until it answers."""

    def __init__(self, port: int, folder: Path) -> None:
        self.address, self._log, self._port = f"http://127.0.0.1:{port}", folder / f"server-{port}.log", port

    def __enter__(self) -> "_Server":
        given = {"DRYSTACK_TASKS": "worker", "DRYSTACK_BACKUP_DAILY": "no"}
        command = [sys.executable, "manage.py", "serve", "--port", str(self._port)]
        with self._log.open("w") as log:
            self._process = subprocess.Popen(
                command, cwd=settings.BASE_DIR, env={**os.environ, **given}, stdout=log, stderr=log
            )
        for _try in range(600):
            try:
                urllib.request.urlopen(f"{self.address}/", timeout=5).close()  # noqa: S310
                return self
            except OSError:
                time.sleep(0.5)
        self.__exit__()
        raise RuntimeError(self._log.read_text()[-2000:])

    def __exit__(self, *_error: object) -> None:
        self._process.terminate()
        self._process.wait(30)

    def processor_seconds(self) -> float:
        parts = Path(f"/proc/{self._process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(parts[11]) + int(parts[12])) / os.sysconf("SC_CLK_TCK")


def _crowd(folder: Path, hosts: list[str]) -> list[dict[str, str]]:
    codes = list(Stack.objects.drying().order_by("pk").values_list("code", flat=True))
    (folder / "codes").write_text("\n".join(random.Random(1).sample(codes, min(ASKED, len(codes)))))
    (folder / "sessions").write_text("\n".join(_sessions()))
    (folder / "acknowledged").touch()
    given = {name: str(folder / name.removeprefix("DRYSTACK_").lower()) for name in _FILES}
    given["DRYSTACK_SERVERS"] = " ".join(hosts)
    command = [sys.executable, "-m", "locust", "-f", str(HERE / "load_phones.py"), "--headless", "-u", "70", "-r", "5"]
    command += ["-t", f"{round(MINUTES * 60)}s", "--csv", str(folder / "found"), "--only-summary", "-s", "60"]
    done = subprocess.run(command, env={**os.environ, **given}, capture_output=True, text=True)
    if not (folder / "found_stats.csv").exists():
        raise RuntimeError(done.stderr[-2000:])
    print(done.stdout[-6000:], file=sys.stderr)
    with (folder / "found_stats.csv").open() as rows:
        return list(csv.DictReader(rows))


_FILES = ("DRYSTACK_CODES", "DRYSTACK_SESSIONS", "DRYSTACK_ACKNOWLEDGED")


def _sessions() -> list[str]:
    """Signed in already: hashing seventy passwords is not what is measured."""
    found = []
    people = list(get_user_model().objects.filter(is_active=True).order_by("pk"))
    for number in range(SESSIONS):
        one = people[number % len(people)]
        session = import_module(settings.SESSION_ENGINE).SessionStore()
        session.update({SESSION_KEY: str(one.pk), BACKEND_SESSION_KEY: BACKEND})
        session[HASH_SESSION_KEY] = one.get_session_auth_hash()
        session.save()
        found.append(session.session_key)
    return found


def _told(rows: list[dict[str, str]], spent: float) -> Iterator[Figure]:
    for row in rows:
        name, count = row["Name"], int(row["Request Count"])
        for part, words in (("50%", "p50"), ("95%", "p95")):
            yield Figure(f"{name} ({count}): {words}", float(row[part]), "ms", "told", True)
    total = rows[-1]
    yield Figure("answered", float(total["Requests/s"]), "a second", "told", True)
    yield Figure("servers' processor time", 1000 * spent / int(total["Request Count"]), "ms a request", "told", True)
    failed = int(total["Failure Count"])
    yield Figure("errors", failed, "requests", "0", failed == 0)


def _kept(acknowledged: Path) -> Iterator[Figure]:
    """Each reading that was acknowledged, known by its stack and its values as typed, is in the yard once."""
    marks = set(acknowledged.read_text().splitlines())
    codes = {mark.split()[0] for mark in marks}
    found = Reading.objects.filter(stack__code__in=codes).values_list("stack__code", "raw")
    kept = [mark for code, raw in found if (mark := " ".join([code, *(f"{one:.1f}" for one in raw)])) in marks]
    yield Figure("readings acknowledged", len(marks), "", "1 or more", bool(marks))
    lost, twice = len(marks - set(kept)), len(kept) - len(set(kept))
    yield Figure("of these lost", lost, "", "0", lost == 0)
    yield Figure("of these kept twice", twice, "", "0", twice == 0)
