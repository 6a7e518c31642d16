"""Each address, for strangers and for owners, whatever it answers: what browsers are told to keep from others."""

import pytest
from django.test import Client

from config.middleware.headers import HEADERS
from tests.config.test_signing_in import address, named
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db
WANTED = {
    "X-Content-Type-Options": {"nosniff"},
    "X-Frame-Options": {"DENY"},
    "Referrer-Policy": {"same-origin", "no-referrer"},
    "Cross-Origin-Opener-Policy": {"same-origin"},
    "Cross-Origin-Resource-Policy": {"same-origin"},
    "Permissions-Policy": {HEADERS["Permissions-Policy"]},
}


def faults_of(response):
    found = [name for name, values in WANTED.items() if response.headers.get(name) not in values]
    policy = response.headers.get("Content-Security-Policy", "")
    strict = "default-src 'none'" in policy and "frame-ancestors 'none'" in policy and "unsafe" not in policy
    return found if strict else [*found, "Content-Security-Policy"]


@pytest.mark.parametrize("who", ["stranger", "owner"])
def test_every_answer_says_all_of_it(who):
    client = Client(raise_request_exception=False)
    if who == "owner":
        client.force_login(UserFactory(is_staff=True))
    wrong = {}
    for name in [*named(), "nowhere"]:
        path = address(name) if name != "nowhere" else "/nowhere/at/all/"
        if faults := faults_of(client.get(path)) + (faults_of(client.delete(path)) if who == "stranger" else []):
            wrong[name] = faults
    assert wrong == {}


def test_the_camera_is_for_this_site_alone():
    assert "camera=(self)" in HEADERS["Permissions-Policy"]
    assert "microphone=()" in HEADERS["Permissions-Policy"]
