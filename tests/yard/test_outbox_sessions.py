"""Who sends: a session that ended, a password that changed, someone else on the same phone. Nothing is lost by it."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from tests.factories import StackFactory, UserFactory
from tests.yard.outbox import send
from yard.actions.people import renew_password, set_admitted
from yard.models import Reading, Receipt

pytestmark = pytest.mark.django_db
VALUES = {"method": "pins", "values": "20 21", "wood_temperature_c": "12"}


@pytest.fixture
def person():
    return UserFactory()


@pytest.fixture
def phone(person):
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def path():
    return f"/stacks/{StackFactory(cut_on=timezone.localdate() - timedelta(days=60)).code}/readings/new/"


@pytest.mark.parametrize("what", ["password", "shut out", "session gone"])
def test_signed_out_the_phone_keeps_it_and_sends_it_after_signing_in(phone, person, path, what):
    key = uuid4()
    if what == "password":
        renew_password(person=person, by=None)
    elif what == "shut out":
        set_admitted(person=person, admitted=False, by=None)
    else:
        phone.session.flush()
    answer = send(phone, path, VALUES, key, **{"X-Drystack-User": str(person.pk)})
    assert answer.status_code == 401
    assert answer.json()["errors"]
    assert phone.get("/probe").json()["id"] is None
    assert not Receipt.objects.exists()
    set_admitted(person=person, admitted=True, by=None)
    phone.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    assert send(phone, path, VALUES, key, **{"X-Drystack-User": str(person.pk)}).status_code == 200
    assert Reading.objects.get().made_by == person


def test_someone_else_s_is_not_taken_as_mine(phone, person, path):
    owner = UserFactory()
    for mode in ("1", "live"):
        headers = {"X-Drystack-User": str(owner.pk), "X-Drystack-Outbox": mode}
        answer = send(phone, path, VALUES, **headers)
        assert answer.status_code == 401
        assert answer.json()["errors"]
    assert not Reading.objects.exists()
    assert phone.get("/probe").json()["id"] == str(person.pk)
