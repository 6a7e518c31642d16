"""Each reader is answered in their own language: their row's, else this browser's cookie, else what it asks for."""

import html
import re

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse
from django.utils import timezone, translation

from config import shell
from tests.factories import UserFactory
from yard.actions.invitations import invite
from yard.actions.language import choose, told_in
from yard.models import Person

pytestmark = pytest.mark.django_db
COOKIE = settings.LANGUAGE_COOKIE_NAME


def reader(language=""):
    user = UserFactory()
    if language:
        choose(language=language, by=user)
    client = Client()
    client.force_login(user)
    return client


def test_the_row_is_heard_before_cookie_and_header():
    client = reader("sv")
    client.cookies[COOKIE] = "de"
    answer = client.get(reverse("me"), headers={"Accept-Language": "de"})
    assert answer["Content-Language"] == "sv"
    assert '<html lang="sv"' in answer.content.decode()
    assert answer.cookies[COOKIE].value == "sv", "the offline page asks without the row"
    assert {"Cookie", "Accept-Language"} <= set(answer["Vary"].split(", "))


def test_today_which_a_stranger_may_ask_for_too_is_in_the_row_s_language():
    answer = reader("sv").get(reverse("today"))
    assert answer["Content-Language"] == "sv"
    assert answer.cookies[COOKIE].value == "sv"


def test_without_a_choice_the_cookie_and_then_the_header_are_heard():
    client = reader()
    assert client.get(reverse("me"), headers={"Accept-Language": "de-AT,de;q=0.9"})["Content-Language"] == "de"
    assert client.get(reverse("me"), headers={"Accept-Language": "fi"})["Content-Language"] == "en"
    client.cookies[COOKIE] = "sv"
    assert client.get(reverse("me"), headers={"Accept-Language": "de"})["Content-Language"] == "sv"


def test_one_chooses_for_oneself_and_leaves_it_to_the_browser_again():
    client = reader()
    page = client.get(reverse("me")).content.decode()
    assert 'lang="de"' in page and "Deutsch" in page and "Svenska" in page
    client.post(reverse("me"), {"language": "de", "units": "metric"})
    assert Person.objects.get().language == "de"
    assert client.get(reverse("me"))["Content-Language"] == "de"
    assert client.cookies[COOKIE].value == "de"
    client.post(reverse("me"), {"language": "", "units": "imperial"})
    assert Person.objects.get().units == "imperial"
    assert client.get(reverse("me"), headers={"Accept-Language": "sv"})["Content-Language"] == "sv"


def test_an_unknown_language_is_refused_at_its_field():
    client = reader()
    answer = client.post(reverse("me"), {"language": "xx", "units": "metric"})
    assert answer.status_code == 422
    assert not Person.objects.exists()


def test_before_signing_in_it_is_chosen_by_a_link_and_kept_in_this_browser(client):
    UserFactory()
    answer = client.get(reverse("login"), {"language": "de", "next": "/yard/"})
    assert answer["Content-Language"] == "de"
    assert "?language=sv&amp;next=%2Fyard%2F" in answer.content.decode()
    assert client.get(reverse("login"))["Content-Language"] == "de"
    assert client.get(reverse("login"), {"language": "xx"})["Content-Language"] == "de"


def test_who_takes_an_invitation_keeps_the_language_in_which_they_read_it(client):
    token = invite(role="hand", by=UserFactory(), at=timezone.now())
    address = reverse("invitation", args=[token])
    client.get(address, {"language": "sv"})
    client.post(address, {"name": "Runa", "password": "knot-larch-stem-412"})
    assert Person.objects.get(user__username="Runa").language == "sv"


def test_a_stranger_s_page_takes_the_language_from_its_address_and_keeps_nothing(client):
    answer = client.get(reverse("paper_public", args=["x" * 32]), {"language": "de"})
    assert answer["Content-Language"] == "de"
    assert COOKIE not in answer.cookies


def test_the_shell_is_another_one_in_another_language():
    caches = []
    for language in ("en", "de", "sv", "en"):
        with translation.override(language):
            caches.append(shell.shell()["cache"])
    assert caches[0] == caches[3]
    assert len(set(caches)) == 3


def test_worker_and_offline_page_agree_in_the_cookie_s_language():
    client = reader("de")
    client.get(reverse("me"))
    offline = client.get("/offline")
    assert '<html lang="de"' in offline.content.decode()
    assert offline["X-Drystack-Shell"] in client.get("/sw.js").content.decode()
    assert client.get("/manifest.webmanifest", {"language": "sv"}).json()["lang"] == "sv"


def test_what_is_made_without_a_page_is_in_the_reader_s_language():
    user = UserFactory()
    with told_in(user):
        assert translation.get_language() == settings.LANGUAGE_CODE
    choose(language="de", by=user)
    with translation.override("sv"), told_in(user):
        assert translation.get_language() == "de"


def test_it_costs_one_query_for_who_is_signed_in(django_assert_num_queries):
    client = reader("de")
    client.get(reverse("waiting"))
    with django_assert_num_queries(3):  # session, user, row
        client.get(reverse("waiting"))


def test_the_worker_s_script_is_its_reader_s_though_it_is_asked_for_without_cookies():
    client, nobody = reader("de"), Client()
    Person.objects.update(units="imperial")
    said = re.search(r'data-reader="([^"]+)"', client.get(reverse("me")).content.decode())
    assert said
    kept = client.get("/offline")["X-Drystack-Shell"]
    assert kept in nobody.get(f"/sw.js?{html.unescape(said[1])}").content.decode()
    assert kept not in nobody.get("/sw.js").content.decode()
