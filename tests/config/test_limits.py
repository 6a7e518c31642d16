"""What is sent too often is slowed: by person or by address, over all processes, and a phone keeps what it holds."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config.middleware import limits
from tests.config.test_signing_in import named
from tests.factories import PASSWORD, StackFactory, UserFactory
from yard.actions.tries import count_try, forget_tries
from yard.models import Tries

pytestmark = pytest.mark.django_db
SPAN = timedelta(minutes=5)


def signed_in(user=None):
    client = Client()
    client.force_login(user or UserFactory())
    return client


def test_the_table_names_addresses_that_there_are():
    assert set(limits.STRANGERS) | set(limits.PEOPLE) <= set(named())


def test_tries_are_counted_in_the_database_by_key_and_span():
    now = timezone.now()
    assert [count_try(of="a", span=SPAN, at=now) for _turn in range(3)] == [1, 2, 3]
    cache.clear()  # another process has an empty one
    assert count_try(of="a", span=SPAN, at=now) == 4
    assert count_try(of="b", span=SPAN, at=now) == 1
    assert count_try(of="a", span=SPAN, at=now + SPAN) == 1, "a new span"
    assert forget_tries(at=now + SPAN) == 1
    assert Tries.objects.count() == 1


def test_what_was_tried_is_kept_as_a_digest_alone():
    count_try(of="login 192.0.2.7", span=SPAN, at=timezone.now())
    assert "192.0.2.7" not in str(Tries.objects.values().get())


def test_many_names_from_one_address_are_slowed_and_another_address_is_not(monkeypatch):
    monkeypatch.setitem(limits.STRANGERS, "login", 3)
    user = UserFactory()
    for number in range(3):
        Client().post(reverse("login"), {"username": f"name{number}", "password": "guess"})
    form = {"username": user.username, "password": PASSWORD}
    slowed = Client().post(reverse("login"), form)
    assert slowed.status_code == 429
    assert int(slowed["Retry-After"]) == 300
    assert "Wait five minutes" in slowed.content.decode()
    assert Client().post(reverse("login"), form, REMOTE_ADDR="192.0.2.9").status_code == 302


def test_files_are_counted_together_wherever_they_are_sent_and_forms_without_any_are_not(monkeypatch):
    monkeypatch.setattr(limits, "FILES", 2)
    client, stack = signed_in(), StackFactory()

    def send(path, name):
        return client.post(path, {name: SimpleUploadedFile("a.jpg", b"no picture")})

    assert send(f"/stacks/{stack.code}/photos/", "photo").status_code == 422
    assert send("/scan/", "photo").status_code == 422
    assert send(f"/stacks/{stack.code}/photos/", "photo").status_code == 429
    assert client.post(f"/stacks/{stack.code}/note/", {"note": "dry above"}).status_code == 302
    other = signed_in().post("/scan/", {"photo": SimpleUploadedFile("a.jpg", b"no picture")})
    assert other.status_code == 422, "another person"


def test_a_phone_s_outbox_is_told_so_in_its_own_terms(monkeypatch):
    monkeypatch.setattr(limits, "FILES", 0)
    stack = StackFactory()
    answer = signed_in().post(
        f"/stacks/{stack.code}/photos/",
        {"photo": SimpleUploadedFile("a.jpg", b"a picture")},
        headers={"X-Drystack-Outbox": "1", "Idempotency-Key": str(uuid4())},
    )
    assert answer.status_code == 429
    assert "Wait five minutes" in str(answer.json()["errors"])


def test_wrong_tokens_of_sensors_are_slowed(client):
    from kilnruns.views.slowing import MOST_WRONG

    codes = [client.post("/sensors/readings/", headers={"Authorization": "Bearer a.b"}).status_code
             for _turn in range(MOST_WRONG + 1)]  # fmt: skip
    assert codes == [401] * MOST_WRONG + [429]
