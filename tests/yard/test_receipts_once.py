"""Whatever is lost, repeated, reordered or sent by two at once: each form is applied exactly once."""

import random
import threading
from datetime import timedelta
from pathlib import Path
from uuid import UUID

import pytest
from django.db import connection, connections
from django.test import Client
from django.utils import timezone
from hypothesis import HealthCheck, given
from hypothesis import settings as effort
from hypothesis import strategies as st

from tests.config.databases import fresh, run
from tests.factories import PlaceFactory, StackFactory, UserFactory
from tests.yard.outbox import send
from yard.models import Event, Reading, Receipt
from yard.receipts import middleware

BACKEND = "django.contrib.auth.backends.ModelBackend"


class KilledError(Exception):
    """The server's process ends before its transaction is written."""


@pytest.fixture
def yard(db):
    """A kiln-dried stack (no forecast to compute), two places and someone signed in."""
    stack = StackFactory(cut_on=timezone.localdate() - timedelta(days=60), kiln_dried_on=timezone.localdate())
    client = Client(raise_request_exception=False)
    client.force_login(UserFactory(), backend=BACKEND)
    return client, stack, [PlaceFactory(), PlaceFactory()]


def form(stack, places, number):
    """Operation `number`: a reading or a move."""
    if number % 3:
        return f"/stacks/{stack.code}/readings/new/", {
            "method": "pins",
            "values": str(8 + number),
            "wood_temperature_c": "12",
        }
    return f"/stacks/{stack.code}/move/", {"place": str(places[number % 2].pk)}


FATES = ["arrives", "answer lost", "killed before the commit", "never reaches the yard"]


@pytest.mark.parametrize("seed", [1])
@effort(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_each_is_applied_once_whatever_is_lost_or_repeated(yard, monkeypatch, seed, data):
    client, stack, places = yard
    Receipt.objects.all().delete()
    Reading.objects.all().delete()
    tries = data.draw(st.lists(st.tuples(st.integers(0, 5), st.sampled_from(FATES)), min_size=1, max_size=14))
    keys = [UUID(int=random.Random(seed * 100 + n).getrandbits(128), version=4) for n in range(6)]
    numbers = sorted({number for number, _fate in tries})
    real = middleware._write

    def killed(*args):
        real(*args)
        raise KilledError

    waiting = set(numbers)
    for number, fate in [*tries, *[(number, "arrives") for number in numbers]]:
        if fate == "never reaches the yard":
            continue
        monkeypatch.setattr(middleware, "_write", killed if fate == FATES[2] else real)
        answer = send(client, *form(stack, places, number), keys[number])
        if fate == "arrives" and answer.status_code == 200 and answer.json()["receipt"] == str(keys[number]):
            waiting.discard(number)
    assert waiting == set()
    assert {str(key) for key in Receipt.objects.values_list("key", flat=True)} == {str(keys[n]) for n in numbers}
    values = sorted(raw[0] for raw in Reading.objects.values_list("raw", flat=True))
    assert values == [8.0 + n for n in numbers if n % 3]


def race(stack, user, keys, senders=3):
    """All keys sent by several threads at once; the statuses that came back."""
    found = []

    def sender():
        client = Client()
        client.force_login(user, backend=BACKEND)
        for key, value in keys:
            fields = {"method": "pins", "values": str(value), "wood_temperature_c": "12"}
            found.append(send(client, f"/stacks/{stack.code}/readings/new/", fields, key).status_code)
        connections.close_all()

    threads = [threading.Thread(target=sender) for _sender in range(senders)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return found


def applied_once_in_a_race():
    stack = StackFactory(cut_on=timezone.localdate() - timedelta(days=60), kiln_dried_on=timezone.localdate())
    keys = [(UUID(int=random.Random(n).getrandbits(128), version=4), 10 + n) for n in range(5)]
    statuses = race(stack, UserFactory(), keys)
    assert statuses == [200] * 15
    assert sorted(raw[0] for raw in Reading.objects.values_list("raw", flat=True)) == [10.0, 11.0, 12.0, 13.0, 14.0]
    assert Event.objects.filter(kind=Event.Kind.READ).count() == 5


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_three_at_once_on_postgresql():
    if connection.vendor != "postgresql":
        pytest.skip("needs DATABASE_URL to name a PostgreSQL server")
    applied_once_in_a_race()


SCRIPT = """
import pytest, django
django.setup()
from django.conf import settings
settings.ALLOWED_HOSTS = ["testserver"]
from tests.yard.test_receipts_once import applied_once_in_a_race
applied_once_in_a_race()
print('"once"')
"""


@pytest.mark.usefixtures("django_db_setup")
def test_three_at_once_on_a_sqlite_file(tmp_path: Path):
    """In a process of its own, as `serve` is: this one's connections are watched by the test runner."""
    with fresh("sqlite", tmp_path, "race", migrated=True) as environment:
        assert run(SCRIPT, environment) == "once"
