"""The real server, killed in the middle of its work again and again: what was sent is applied exactly once.

On SQLite, in a folder of its own; on a PostgreSQL server as well where DATABASE_URL names one that may make databases.
"""

import json
import random
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from urllib.parse import urlencode
from uuid import UUID

import pytest
from django.conf import settings

from tests.config.databases import KINDS, fresh, run
from tests.effort import effort

ROUNDS, SENDERS, EACH, TRIES = effort(1, 8), 3, 8, 20
PREPARE = """
import json, sys, django
django.setup()
from datetime import timedelta
from django.conf import settings
from django.test import Client
from django.utils import timezone
settings.ALLOWED_HOSTS = ["127.0.0.1"]
from tests.factories import StackFactory, UserFactory
today = timezone.localdate()
stacks = [StackFactory(cut_on=today - timedelta(days=60), kiln_dried_on=today) for _sender in range(3)]
client = Client()
client.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
print(json.dumps({"session": client.cookies["sessionid"].value, "codes": [stack.code for stack in stacks]}))
"""
SERVE = """
import sys
from config.server import serve
serve("127.0.0.1", int(sys.argv[1]), print)
"""
COUNT = """
import json, django
django.setup()
from yard.models import Event, Reading, Receipt
print(json.dumps({
    "values": sorted(raw[0] for raw in Reading.objects.values_list("raw", flat=True)),
    "events": Event.objects.filter(kind="read").count(),
    "receipts": Receipt.objects.filter(state="applied").count(),
}))
"""


class Server:
    """A server's process on a port of its own, to be killed and started again."""

    def __init__(self, environment: dict[str, str]) -> None:
        self.environment = environment
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]

    def start(self) -> None:
        command = [sys.executable, "-c", SERVE, str(self.port)]
        self.process = subprocess.Popen(command, cwd=settings.BASE_DIR, env=self.environment)
        for _try in range(300):
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
            except OSError:
                time.sleep(0.1)
            else:
                return
        raise AssertionError("the server does not answer")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


def post(port: int, session: str, code: str, number: int) -> bool:
    """Whether a receipt came for operation `number`."""
    key = str(UUID(int=random.Random(number).getrandbits(128), version=4))
    token = "a" * 32
    headers = {"Idempotency-Key": key, "X-Drystack-Outbox": "1", "X-CSRFToken": token, "Host": f"127.0.0.1:{port}"}
    headers |= {"Cookie": f"sessionid={session}; csrftoken={token}"}
    headers |= {"Content-Type": "application/x-www-form-urlencoded"}
    body = urlencode({"method": "pins", "values": f"{8 + number / 100:.2f}", "wood_temperature_c": "12"})
    line = HTTPConnection("127.0.0.1", port, timeout=20)
    try:
        line.request("POST", f"/stacks/{code}/readings/new/", body, headers)
        answer = line.getresponse()
        text = answer.read()
    except (OSError, HTTPException):
        return False
    finally:
        line.close()
    assert answer.status == 200, text
    return bool(json.loads(text)["receipt"] == key)


def send_all(
    port: int, session: str, codes: list[str], waiting: set[int], arrived: set[int], tries: int
) -> list[threading.Thread]:
    """Each sender sends its own, one after the other; what has its receipt is forgotten, as a phone would."""

    def sender(which: int) -> None:
        for number in sorted(waiting):
            if number % SENDERS == which and any(post(port, session, codes[which], number) for _try in range(tries)):
                arrived.add(number)

    threads = [threading.Thread(target=sender, args=[which]) for which in range(SENDERS)]
    for thread in threads:
        thread.start()
    return threads


@pytest.fixture(params=KINDS)
def environment(request: pytest.FixtureRequest, django_db_setup: None, tmp_path: Path) -> Iterator[dict[str, str]]:
    with fresh(request.param, tmp_path, "killed", migrated=True) as given:
        yield given


@pytest.mark.postgres
def test_each_is_applied_once_though_the_server_is_killed(environment: dict[str, str]) -> None:
    known = run(PREPARE, environment)
    chance, server = random.Random(11), Server(environment)
    waiting, arrived, killed_before_all = set(range(ROUNDS * SENDERS * EACH)), set(), 0
    for last in [*[False] * ROUNDS, True]:
        server.start()
        try:
            tries = TRIES if last else 1
            threads = send_all(server.port, known["session"], known["codes"], waiting - arrived, arrived, tries)
            if not last:
                wanted = len(arrived) + chance.randrange(3, SENDERS * EACH)
                while len(arrived) < wanted and any(thread.is_alive() for thread in threads):
                    time.sleep(chance.uniform(0.001, 0.02))
                server.kill()
                killed_before_all += len(arrived) < len(waiting)
            for thread in threads:
                thread.join()
        finally:
            server.kill()
    assert killed_before_all == ROUNDS
    assert arrived == waiting
    found = run(COUNT, environment)
    assert found["values"] == [round(8 + number / 100, 2) for number in sorted(waiting)]
    assert found["events"] == found["receipts"] == len(waiting)
