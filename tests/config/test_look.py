"""The look for full sun: chosen on the phone, kept there, on every page, before signing in too."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from config.look import COOKIE
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db
SHEET = (Path(settings.BASE_DIR) / "static/css/drystack.css").read_text()


@pytest.fixture
def signed_in(client: Client) -> Client:
    client.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_it_is_chosen_and_taken_back(signed_in: Client) -> None:
    assert "data-look" not in signed_in.get("/").content.decode()
    signed_in.post(reverse("look"), {"look": "sun"})
    assert ' data-look="sun">' in signed_in.get("/").content.decode()
    signed_in.post(reverse("look"), {"look": ""})
    assert "data-look" not in signed_in.get("/").content.decode()


def test_what_is_not_offered_is_refused_and_changes_nothing(signed_in: Client) -> None:
    answer = signed_in.post(reverse("look"), {"look": "neon"})
    assert answer.status_code == 422
    assert COOKIE not in answer.cookies


def test_a_script_may_read_it_for_the_page_without_reception(signed_in: Client) -> None:
    cookie = signed_in.post(reverse("look"), {"look": "sun"}).cookies[COOKIE]
    assert not cookie["httponly"]
    assert f'"{cookie.key}={cookie.value}"' in (Path(settings.BASE_DIR) / "static/js/offline_page.js").read_text()


def test_it_sets_every_colour_to_black_or_white() -> None:
    sun = re.search(r":root\[data-look=sun\] \{(.*?)\}", SHEET, flags=re.DOTALL)
    usual = re.search(r":root \{(.*?)\}", SHEET, flags=re.DOTALL)
    assert sun and usual
    colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", sun.group(1)))
    assert set(colours.values()) == {"#000000", "#ffffff"}
    assert set(colours) == set(dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", usual.group(1))))


def test_nothing_moves_where_less_motion_is_wished() -> None:
    rules = re.sub(r"@media \(prefers-reduced-motion: no-preference\) \{.*\}\n", "", SHEET)
    assert len(rules) < len(SHEET)
    assert not re.search(r"\b(transition|animation|scroll-behavior)\b", rules)
