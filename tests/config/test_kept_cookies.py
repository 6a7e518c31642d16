"""What is kept in a browser goes over https alone where the page came so, whatever the settings say of https."""

from typing import Any

import pytest
from django.test import Client
from django.utils import translation

from config.look import COOKIE as LOOK
from tests.factories import StackFactory, UserFactory
from tests.yard.outbox import send
from yard.actions.language import choose
from yard.changes.middleware import COOKIE as UNDO
from yard.firstday import AWAY

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("is_secure", [True, False])
def test_each_is_as_secure_as_the_request(is_secure: bool, settings: Any) -> None:
    settings.SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    user = UserFactory()
    choose(language="de", by=user)
    client = Client(headers={"X-Forwarded-Proto": "https" if is_secure else "http"})
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    with translation.override("en"):
        client.post("/me/look/", {"look": "sun"})
        client.post("/first-day/", {})
        fields = {"method": "pins", "values": "20", "wood_temperature_c": "12"}
        send(client, f"/stacks/{StackFactory().code}/readings/new/", fields)
    kept = {name: client.cookies[name] for name in (LOOK, AWAY, UNDO, settings.LANGUAGE_COOKIE_NAME)}
    assert {name: bool(one["secure"]) for name, one in kept.items()} == dict.fromkeys(kept, is_secure)
    assert {name for name, one in kept.items() if not one["httponly"]} == {LOOK}, "a script of the offline page"
    assert {one["samesite"] for one in kept.values()} == {"Lax"}
