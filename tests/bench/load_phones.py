"""Fifty phones in the yard and twenty people at desks, for locust: each phone brings its copy, sends readings out of
its outbox (one in ten of them twice), and opens what it scans; the people look at lists and stacks.

What was acknowledged is written, a line each, into the file that DRYSTACK_ACKNOWLEDGED names; `bench_load_test` finds
each of them in the yard, once.
"""

import itertools
import os
import random
import threading
from pathlib import Path
from uuid import uuid4

from locust import HttpUser, between, task

CODES = Path(os.environ["DRYSTACK_CODES"]).read_text().split()
SESSIONS = Path(os.environ["DRYSTACK_SESSIONS"]).read_text().split()
HOSTS = os.environ["DRYSTACK_SERVERS"].split()
ACKNOWLEDGED = Path(os.environ["DRYSTACK_ACKNOWLEDGED"])
_number = itertools.count()
_lock = threading.Lock()


class SignedIn(HttpUser):
    abstract = True
    host = HOSTS[0]

    def on_start(self) -> None:
        self.number = next(_number)
        self.rng = random.Random(self.number)
        # on either server in turn: neither may keep what the other needs
        self.hosts = itertools.cycle(HOSTS[self.number % len(HOSTS) :] + HOSTS[: self.number % len(HOSTS)])
        self.client.cookies.set("sessionid", SESSIONS[self.number % len(SESSIONS)])

    def at(self, path: str) -> str:
        return next(self.hosts) + path

    def some(self) -> str:
        return self.rng.choice(CODES)


class Phone(SignedIn):
    fixed_count = 50
    wait_time = between(15, 45)
    cursor = ""
    has_all = False

    @task(5)
    def copy(self) -> None:
        name = "copy: what changed" if self.has_all else "copy: a page of the first"
        with self.client.get(self.at(f"/copy/?since={self.cursor}"), name=name, catch_response=True) as answer:
            if answer.status_code == 200:
                told = answer.json()
                self.cursor, self.has_all = told["cursor"], not told["more"]
            else:
                answer.failure(f"{answer.status_code}")

    @task(5)
    def reading(self) -> None:
        key, code = str(uuid4()), self.some()
        # six values with a decimal each are the reading's mark, by which it is found again
        values = " ".join(f"{self.rng.uniform(15, 25):.1f}" for _number in range(6))
        for _time in range(2 if self.rng.random() < 0.1 else 1):
            self.send(key, code, values)

    def send(self, key: str, code: str, values: str) -> None:
        address = self.at(f"/stacks/{code}/readings/new/")
        token = "a" * 32
        self.client.cookies.set("csrftoken", token)
        headers = {"Idempotency-Key": key, "X-Drystack-Outbox": "1", "X-CSRFToken": token}
        headers |= {"X-Drystack-Client": "1"}
        fields = {"method": "pins", "values": values, "wood_temperature_c": "14"}
        with self.client.post(
            address, fields, headers=headers, name="outbox: a reading", allow_redirects=False, catch_response=True
        ) as answer:
            if answer.status_code not in (200, 201, 204, 302):
                answer.failure(f"{answer.status_code}: {answer.text[:200]}")
                return
        with _lock, ACKNOWLEDGED.open("a") as kept:
            kept.write(f"{code} {values}\n")

    @task(3)
    def scan(self) -> None:
        self.client.get(self.at(f"/t/{self.some()}/"), name="scanned tag", allow_redirects=False)


class Desk(SignedIn):
    fixed_count = 20
    wait_time = between(15, 45)

    @task(4)
    def stack(self) -> None:
        self.client.get(self.at(f"/stacks/{self.some()}/"), name="stack page")

    @task(3)
    def listed(self) -> None:
        self.client.get(self.at("/yard/"), name="list, ready first")

    @task(2)
    def today(self) -> None:
        self.client.get(self.at("/"), name="Today")

    @task(1)
    def due(self) -> None:
        self.client.get(self.at("/yard/?due=on"), name="list, reading due first")
