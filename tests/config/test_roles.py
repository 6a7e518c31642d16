"""Each role at every address: what it may send, what is refused in words, and what a phone is told."""

import json
from collections import defaultdict
from pathlib import Path
from urllib.parse import urlsplit
from uuid import uuid4

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import resolve, reverse

from tests.config.test_signing_in import EXAMPLES, address, named
from tests.factories import StackFactory, UserFactory
from tests.yard.outbox import send
from yard.actions.people import set_role
from yard.actions.roles import (
    BY_ANYBODY,
    BY_HANDS,
    BY_OPERATORS,
    BY_OWNERS,
    BY_STRANGERS,
    FORMS,
    MONEY,
    OWNER,
    RANKS,
    SEEN,
    may_send,
    role_of,
)
from yard.models import Role, Stack

pytestmark = pytest.mark.django_db


def client_of(role):
    user = UserFactory()
    set_role(person=user, role=role, by=None)
    client = Client()
    client.force_login(user)
    return client


SENT = BY_ANYBODY | BY_HANDS | BY_OPERATORS | BY_OWNERS | BY_STRANGERS


def test_the_table_names_addresses_that_there_are_and_each_once():
    every = [BY_ANYBODY, BY_HANDS, BY_OPERATORS, BY_OWNERS, BY_STRANGERS]
    assert sum(map(len, every)) == len(SENT)
    assert set(named()) >= SENT | FORMS | set(SEEN) - {MONEY}
    assert SENT >= FORMS


@pytest.mark.parametrize("name", [name for name in named() if name not in SENT])
def test_what_is_not_in_the_table_takes_nothing(name):
    """A new address that takes a form must say in the table who may send it."""
    client = client_of(OWNER)
    assert client.post(address(name)).status_code == 405


def test_what_is_not_in_the_table_is_closed_to_hands_and_guests():
    assert [may_send(role, "a_new_address") for role in RANKS] == [False, False, True, True]


def test_every_form_of_an_outbox_is_in_the_table():
    """Of the pages drawn on a phone, and of old versions of the app."""
    frozen = [json.loads(file.read_text()) for file in Path("tests/yard/operations").glob("*.json")]
    paths = [one["path"] for file in frozen for one in file["operations"]]
    assert len(paths) > 10
    known = defaultdict(lambda: "1", code="234567ABCD", prongs_key=EXAMPLES["receipt"])
    assert {resolve(urlsplit(path.format_map(known)).path).url_name for path in paths} <= SENT


@pytest.mark.parametrize("name", sorted(SENT - BY_ANYBODY - BY_STRANGERS))
def test_each_role_sends_what_it_may_and_no_more(name):
    for role in RANKS:
        answer = client_of(role).post(address(name))
        assert (answer.status_code != 403) == may_send(role, name), role
    assert not may_send(Role.GUEST, name)


def test_a_guest_is_told_why():
    assert "you may look, not change" in client_of(Role.GUEST).post("/needs/new/").content.decode()
    assert "by a kiln operator or an owner" in client_of(Role.HAND).post("/plans/").content.decode()
    assert "Only an owner" in client_of(Role.OPERATOR).get("/people/").content.decode()


@pytest.mark.parametrize("name", ["stack_new", "stack_move", "reading_new", "stack_note", "need_new", "run_record_new"])
def test_a_yard_hand_records(name):
    answer = client_of(Role.HAND).post(address(name))
    assert answer.status_code in (200, 302, 404, 422), "the view answers, not the role"


@pytest.mark.parametrize("role", [Role.OPERATOR, Role.HAND, Role.GUEST])
def test_only_owners_see_people_prices_and_backups(role):
    client = client_of(role)
    for name in ("people", "prices", "backups"):
        assert client.get(reverse(name)).status_code == 403


def test_a_guest_looks_at_everything_else(client):
    guest = client_of(Role.GUEST)
    stack = StackFactory()
    for path in ("/", "/yard/", f"/stacks/{stack.code}/", "/kilns/", "/needs/", "/stock/"):
        assert guest.get(path, follow=True).status_code == 200


def test_who_was_there_before_there_were_roles_is_an_operator():
    user = UserFactory()
    assert role_of(user) == Role.OPERATOR
    assert all(may_send(role_of(user), name) for name in SENT - BY_OWNERS)
    assert role_of(UserFactory(is_staff=True)) == OWNER


def test_what_a_guests_phone_kept_is_refused_in_the_outbox_s_own_terms():
    """So that the phone keeps it and says why, instead of asking to sign in for ever."""
    stack = StackFactory()
    guest = client_of(Role.GUEST)
    answer = guest.post(
        f"/stacks/{stack.code}/note/",
        {"note": "wet below"},
        headers={"X-Drystack-Outbox": "1", "Idempotency-Key": str(uuid4())},
    )
    assert answer.status_code == 403
    assert "you may look, not change" in str(answer.json()["errors"])
    assert not Stack.objects.get().events.filter(kind="noted").exists()


def test_a_role_counts_from_the_next_request_on():
    user = UserFactory()
    client = Client()
    client.force_login(user)
    set_role(person=user, role=Role.GUEST, by=None)
    assert client.post("/plans/").status_code == 403
    set_role(person=user, role=Role.OPERATOR, by=None)
    assert client.post("/plans/").status_code != 403


def test_what_was_kept_before_somebody_became_a_guest_gets_its_receipt():
    """The answer was lost on the way; the phone sends it once more, and must not be told that it was refused."""
    stack, user, key = StackFactory(), UserFactory(), uuid4()
    phone = Client()
    phone.force_login(user)
    path = f"/stacks/{stack.code}/note/"
    assert send(phone, path, {"note": "wet below"}, key).status_code == 200
    set_role(person=user, role=Role.GUEST, by=None)
    assert send(phone, path, {"note": "wet below"}, key).json()["receipt"] == str(key)
    assert send(phone, path, {"note": "another"}, key).status_code == 403
    assert send(client_of(Role.GUEST), path, {"note": "wet below"}, key).status_code == 403
    assert stack.events.filter(kind="noted").count() == 1


def test_what_a_view_refuses_of_an_outbox_is_no_matter_of_signing_in(monkeypatch):
    def refuse(**_given):
        raise PermissionDenied("Only on a weekday.")

    monkeypatch.setattr("yard.views.notes.add_note", refuse)
    answer = send(client_of(Role.HAND), f"/stacks/{StackFactory().code}/note/", {"note": "wet below"})
    assert (answer.status_code, answer.json()["errors"][""]) == (403, ["Only on a weekday."])


def test_an_outbox_whose_token_is_too_old_is_asked_to_sign_in():
    client = Client(enforce_csrf_checks=True)
    client.force_login(UserFactory())
    answer = send(client, f"/stacks/{StackFactory().code}/note/", {"note": "wet below"})
    assert answer.status_code == 403
    assert "Sign in again" in str(answer.json()["errors"])
