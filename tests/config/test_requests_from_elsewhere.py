"""Forms and links that somebody else made: without the form's token, with another host's name, leading elsewhere."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.config.test_signing_in import OPEN, address, named
from tests.factories import PASSWORD, StackFactory, UserFactory
from yard.models import Event

pytestmark = pytest.mark.django_db
# A device's token is its sign-in; a browser has none to lend (tests/kilnruns/test_views_sensors.py).
BY_TOKEN = {"sensor_readings"}
ELSEWHERE = ["https://evil.example/", "//evil.example/", "/\\evil.example", "javascript:alert(1)", "https:evil.example"]


@pytest.fixture
def owner():
    return UserFactory(is_staff=True)


def test_no_address_takes_a_form_without_its_token(owner):
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    taken = {name: client.post(address(name)).status_code for name in named() if name not in BY_TOKEN}
    assert {name: code for name, code in taken.items() if code != 403} == {}


def test_strangers_forms_need_the_token_too():
    client = Client(enforce_csrf_checks=True)
    codes = {name: client.post(address(name)).status_code for name in OPEN - BY_TOKEN}
    assert set(codes.values()) <= {403}


def test_another_sites_form_is_refused_though_its_token_fits(owner):
    """As a form at another site that has got hold of a token; browsers say where a form came from."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner)
    stack = StackFactory()
    path = f"/stacks/{stack.code}/note/"
    token = client.get(path).context["csrf_token"]
    form = {"note": "from elsewhere", "csrfmiddlewaretoken": str(token)}
    assert client.post(path, form, headers={"Origin": "https://evil.example"}).status_code == 403
    assert not Event.objects.filter(kind="noted").exists()
    assert client.post(path, form, headers={"Origin": "http://testserver"}).status_code == 302


@pytest.mark.parametrize("where", ELSEWHERE)
def test_signing_in_leads_nowhere_else(where, owner):
    form = {"username": owner.username, "password": PASSWORD, "next": where}
    assert Client().post(reverse("login"), form).url == "/"


@pytest.mark.parametrize("where", ELSEWHERE)
@pytest.mark.parametrize("field", ["next", "back", "from", "return", "to", "url"])
def test_no_page_leads_to_what_its_address_names(where, field, owner):
    """Redirects of GETs, at each address that has one for an owner."""
    client = Client()
    client.force_login(owner)
    for name in ("today", "welcome", "login", "scan", "tag"):
        answer = client.get(address(name), {field: where})
        assert "evil.example" not in answer.headers.get("Location", "")
        assert "alert" not in answer.headers.get("Location", "")


@pytest.mark.parametrize("host", ["evil.example", "testserver.evil.example", "testserver@evil.example", "a b", ""])
def test_another_hosts_name_is_refused(host, settings):
    settings.ALLOWED_HOSTS = ["testserver"]
    assert Client(raise_request_exception=False).get("/sign-in/", headers={"Host": host}).status_code == 400


def test_a_forwarded_hosts_name_is_not_believed(settings, owner):
    client = Client()
    client.force_login(owner)
    page = client.get("/sensors/openapi.json", headers={"X-Forwarded-Host": "evil.example"})
    assert page.json()["servers"] == [{"url": "http://testserver"}]


def test_signing_in_gives_a_new_session(owner):
    """Whoever slipped somebody a session's key before does not share it afterwards."""
    client = Client()
    client.get(reverse("login"))
    session = client.session
    session["slipped"] = "in"
    session.save()
    client.cookies["sessionid"] = before = session.session_key
    client.post(reverse("login"), {"username": owner.username, "password": PASSWORD})
    assert client.session.session_key != before
    stranger = Client()
    stranger.cookies["sessionid"] = before
    assert stranger.get(reverse("yard")).status_code == 302, "the old key opens nothing"


def test_signing_out_ends_the_session_at_the_server(owner):
    client = Client()
    client.force_login(owner)
    kept = client.cookies["sessionid"].value
    client.post(reverse("logout"))
    again = Client()
    again.cookies["sessionid"] = kept
    assert again.get(reverse("yard")).status_code == 302


def test_cookies_are_out_of_scripts_reach_and_stay_on_this_site(owner):
    client = Client()
    cookies = client.post(reverse("login"), {"username": owner.username, "password": PASSWORD}).cookies
    assert cookies["sessionid"]["httponly"] and cookies["sessionid"]["samesite"] == "Lax"
