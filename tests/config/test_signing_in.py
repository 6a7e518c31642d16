"""Nothing is seen or written without signing in; each URL is walked, so that a new one can't be forgotten."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.factories import PASSWORD, UserFactory

# The only pages for strangers: signing in, the first page of an empty yard, and what the app shell itself needs.
OPEN = {"login", "logout", "welcome", "today", "offline", "probe", "manifest"}
# The second step of signing in: whoever has not done the first is sent to it (tests/config/test_second_factor.py).
OPEN |= {"sign_in_code"}
OPEN |= {"service-worker", "service-worker-classic"}
# A device's token is its sign-in (tests/kilnruns/test_views_sensors.py).
OPEN |= {"sensor_readings"}
# A calendar program can't sign in: the unguessable token in its address is its sign-in
# (tests/kilnruns/test_calendar_feed.py).
OPEN |= {"calendar_feed"}
# Whoever has the link of one paper may see that paper, if an owner says so: the unguessable token in its address
# (tests/kilnruns/test_public_paper.py).
OPEN |= {"paper_public"}
# Who was invited has no name here yet: the unguessable token in its address (tests/yard/test_invitations.py).
OPEN |= {"invitation"}
EXAMPLES = {"pk": 1, "number": 0, "code": "234567ABCD", "key": "norway_spruce", "path": "css/drystack.css"}
EXAMPLES["name"] = "drystack-20260101T000000Z.zip"
EXAMPLES["token"] = "nobody-gave-this-one-to-anybody"
EXAMPLES["receipt"] = "0b5d3c3e-5c1b-4e0c-9d58-0a4a2f6f1c11"


def patterns(resolver: Any = None) -> Iterator[URLPattern]:
    for item in (resolver or get_resolver()).url_patterns:
        if isinstance(item, URLResolver):
            yield from patterns(item)
        else:
            yield item


def named() -> list[str]:
    return sorted({item.name for item in patterns() if item.name})


def address(name: str) -> str:
    wanted = next(item for item in patterns() if item.name == name).pattern.regex.groupindex
    return reverse(name, kwargs={group: EXAMPLES[group] for group in wanted})


def test_every_address_has_a_name() -> None:
    unnamed = [str(item.pattern) for item in patterns() if not item.name]
    assert [pattern for pattern in unnamed if "static" not in pattern] == []
    assert len(named()) > 40


@pytest.mark.django_db
@pytest.mark.parametrize("name", [name for name in named() if name not in OPEN])
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_sent_to_sign_in(client: Client, name: str, method: str) -> None:
    response = getattr(client, method)(address(name))
    assert response.status_code == 302
    assert response.url.startswith(reverse("login"))


@pytest.mark.django_db
def test_today_sends_a_stranger_to_sign_in_and_the_first_comer_to_the_welcome_page(client: Client) -> None:
    assert client.get(reverse("today")).url == reverse("welcome")
    UserFactory()
    assert client.get(reverse("today")).url == reverse("login")


@pytest.mark.django_db
def test_the_welcome_page_is_gone_once_there_is_an_owner(client: Client) -> None:
    UserFactory()
    assert client.get(reverse("welcome")).url == reverse("login")
    assert client.post(reverse("welcome"), {}).url == reverse("login")


@pytest.mark.django_db
def test_a_scanned_tag_is_returned_to_after_signing_in(client: Client) -> None:
    user = UserFactory()
    tag = reverse("tag", args=["234567ABCD"])
    login = client.get(tag).url
    response = client.post(login, {"username": user.username, "password": PASSWORD})
    assert response.url == tag


@pytest.mark.django_db
def test_signing_in_is_slowed_after_five_wrong_passwords(client: Client) -> None:
    user = UserFactory()
    for _attempt in range(5):
        response = client.post(reverse("login"), {"username": user.username, "password": "wrong"})
    assert response.status_code == 429
    right = client.post(reverse("login"), {"username": user.username, "password": PASSWORD})
    assert right.status_code == 429


@pytest.mark.django_db
def test_another_name_is_not_slowed_with_it(client: Client) -> None:
    user, other = UserFactory(), UserFactory()
    for _attempt in range(5):
        client.post(reverse("login"), {"username": user.username, "password": "wrong"})
    response = client.post(reverse("login"), {"username": other.username, "password": PASSWORD})
    assert response.status_code == 302


@pytest.mark.django_db
def test_the_content_policy_allows_nothing_inline(client: Client) -> None:
    UserFactory()
    policy = client.get(reverse("login")).headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
