"""Two processes of the server on one database, as behind a proxy that sends each request to either: nothing that one
keeps in its memory is missed at the other. On PostgreSQL each has a data folder of its own, as two machines have."""

import re
import threading
from collections.abc import Iterator
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.error import HTTPError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, ProxyHandler, Request, build_opener

import pytest

from tests.config.databases import KINDS, fresh, manage, run
from tests.config.test_killed_server import Server, post

pytestmark = pytest.mark.postgres
PASSWORD = "moss on the north side"
PREPARE = f"""
import json, django
django.setup()
from datetime import timedelta
from django.utils import timezone
from tests.factories import StackFactory, UserFactory
UserFactory(username="Edda", password={PASSWORD!r}, is_staff=True)
UserFactory(username="Guess", password={PASSWORD!r})
today = timezone.localdate()
stack = StackFactory(cut_on=today - timedelta(days=60), kiln_dried_on=today, thickness_mm=52)
print(json.dumps(stack.code))
"""
COUNT = """
import json, django
django.setup()
from yard.models import Event, Reading, Receipt
rows = Reading.objects.all(), Event.objects.filter(kind="read"), Receipt.objects.filter(state="applied")
print(json.dumps([one.count() for one in rows]))
"""
ROUNDS = 8


class Phone:
    """A browser's cookies, which don't tell one port from another."""

    def __init__(self) -> None:
        self.cookies = CookieJar()
        self.opener = build_opener(ProxyHandler({}), HTTPCookieProcessor(self.cookies))

    def ask(self, server: Server, path: str, **form: str) -> tuple[int, str, str]:
        """Status, address after redirects, page; a form's token is what the browser was given, by whichever server."""
        body = urlencode(form | {"csrfmiddlewaretoken": self.cookie("csrftoken")}).encode() if form else None
        try:
            answer = self.opener.open(Request(f"http://127.0.0.1:{server.port}{path}", body), timeout=60)
        except HTTPError as refused:
            answer = refused
        with answer:
            return answer.status, answer.url.partition(str(server.port))[2], answer.read().decode(errors="replace")

    def cookie(self, name: str) -> str:
        return next((cookie.value or "" for cookie in self.cookies if cookie.name == name), "")


@pytest.fixture(params=KINDS)
def yard(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[Server, Server, dict[str, str], str]]:
    with fresh(request.param, tmp_path / "one", "both", migrated=True) as one:
        one |= {"DRYSTACK_TASKS": "worker", "DRYSTACK_SECRET_KEY": "of both, from the environment"}
        other = one
        if request.param == "postgresql":
            one |= {"DRYSTACK_DEBUG": "no"}  # static files as they are served for real, collected on each machine
            other = one | {"DRYSTACK_DATA": str(tmp_path / "other")}
            for machine in (one, other):
                assert manage(machine, "collectstatic", "--noinput", "-v0").returncode == 0
        code = run(PREPARE, one)
        servers = Server(one), Server(other)
        try:
            for server in servers:
                server.start()
            yield *servers, one, code
        finally:
            for server in servers:
                if hasattr(server, "process"):
                    server.kill()


def at_once(ports: list[int], session: str, code: str, number: int) -> list[bool]:
    """Whether a receipt came from each, sent the same under one key at the same moment."""
    gate, receipts = threading.Barrier(len(ports)), []

    def send(port: int) -> None:
        gate.wait()
        receipts.append(post(port, session, code, number))

    threads = [threading.Thread(target=send, args=[port]) for port in ports]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return receipts


def test_what_one_is_told_the_other_knows(yard: tuple[Server, Server, dict[str, str], str]) -> None:
    """One way through, since each start of two servers costs."""
    one, other, environment, code = yard
    phone = Phone()

    phone.ask(one, "/sign-in/")
    assert phone.cookie("csrftoken"), "given by one"
    status, address, _page = phone.ask(other, "/sign-in/", username="Edda", password=PASSWORD)
    assert (status, address) == (200, "/"), "a form of the one's is taken by the other"
    for server in (one, other):
        assert phone.ask(server, "/yard/")[:2] == (200, "/yard/"), "signed in at the other, and so at both"

    stack = f"/stacks/{code}/"
    pages = [phone.ask(server, stack)[2] for server in (one, other)]
    static = [set(re.findall(r"/static/[^\"]+\.(?:css|js)", page)) for page in pages]
    assert static[0] == static[1] and len(static[0]) > 2
    if environment["DRYSTACK_DEBUG"] == "no":
        for path in sorted(static[0])[:3]:
            assert re.search(r"\.[0-9a-f]{12}\.", path), "named by its content"
            assert phone.ask(one, path)[2] == phone.ask(other, path)[2] != ""

    assert all('lang="en"' in page and "52 mm" in page.replace("\xa0", " ").replace("\u202f", " ") for page in pages)
    assert phone.ask(one, "/me/", language="de", units="imperial")[0] == 200
    for server in (other, one):
        page = phone.ask(server, stack)[2]
        assert '<html lang="de"' in page and "52 mm" not in page.replace("\xa0", " ").replace("\u202f", " ")

    session = phone.cookie("sessionid")
    for number in range(ROUNDS):
        assert at_once([one.port, other.port], session, code, number) == [True, True], "each is told that it arrived"
    assert run(COUNT, environment) == [ROUNDS] * 3, "each was applied once"

    stranger = Phone()
    stranger.ask(one, "/sign-in/")
    turns = [one, other, one, other, one]
    guesses = [stranger.ask(server, "/sign-in/", username="Guess", password="a guess")[0] for server in turns]
    assert guesses[:4] == [200] * 4
    assert stranger.ask(other, "/sign-in/", username="Guess", password=PASSWORD)[0] == 429, "five guesses, by both"
    answers = [stranger.ask((one, other)[turn % 2], "/invitation/none/", name="x")[0] for turn in range(31)]
    assert 429 not in answers[:30] and answers[30] == 429, "thirty tries of a stranger's, at both together"

    phone.ask(one, "/sign-out/", sent="yes")
    assert phone.ask(other, "/yard/")[1].startswith("/sign-in/")
