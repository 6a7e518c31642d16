"""Who is signed in, and the token of forms, stay on https where `serve --https` listens, and go over http elsewhere."""

from typing import Any

import pytest
from django.test import Client

from config.management.commands.serve import Command
from tests.factories import PASSWORD, UserFactory

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("is_https", [True, False])
def test_they_are_secure_under_https_and_let_one_in_by_either(is_https: bool, settings: Any, tmp_path: Any) -> None:
    settings.DATA_DIR = tmp_path
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = False  # as they are where no setting asks for https
    settings.ALLOWED_HOSTS = ["localhost", "testserver.local"]
    if is_https:
        Command().secured()
    client = Client(enforce_csrf_checks=True, SERVER_NAME="localhost")
    client.get("/sign-in/", secure=is_https)
    token = client.cookies[settings.CSRF_COOKIE_NAME]
    fields = {"username": UserFactory().get_username(), "password": PASSWORD, "csrfmiddlewaretoken": token.value}
    headers = {"Referer": f"{'https' if is_https else 'http'}://localhost/sign-in/"}
    answer = client.post("/sign-in/", fields, secure=is_https, headers=headers)
    assert answer.status_code == 302
    session = client.cookies[settings.SESSION_COOKIE_NAME]
    assert [bool(one["secure"]) for one in (token, session)] == [is_https, is_https]
    assert client.get("/", secure=is_https).status_code == 200
