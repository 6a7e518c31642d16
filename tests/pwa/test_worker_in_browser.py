"""The service worker in a real browser: what it keeps, what it never keeps, and what it shows without a connection."""

from typing import Any

import pytest
from django.contrib.auth import get_user_model

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PASSWORD = "sawdust and shavings"
KEPT = """async () => {
  const all = [];
  for (const name of await caches.keys())
    for (const request of await (await caches.open(name)).keys()) all.push(new URL(request.url).pathname);
  return all;
}"""

TAKEN_OVER = """() => new Promise((done) => {
  navigator.serviceWorker.addEventListener("controllerchange", () => done());
  if (navigator.serviceWorker.controller) done();
})"""


def sign_in(page: Any, live_server: Any) -> None:
    get_user_model().objects.create_user("orla", password=PASSWORD)
    page.goto(f"{live_server.url}/sign-in/?next=/offline")
    page.get_by_label("Username").fill("orla")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/offline")


def install(page: Any) -> None:
    """What app.js does on each page of someone signed in; then wait until the worker has the page."""
    page.evaluate("import('/static/js/app.js')")
    page.evaluate(TAKEN_OVER)


def test_without_a_connection_a_page_says_so(phone: Any, live_server: Any) -> None:
    page = phone.new_page()
    sign_in(page, live_server)
    install(page)
    phone.set_offline(True)
    page.goto(f"{live_server.url}/probe")
    assert page.get_by_role("heading", level=1).inner_text() == "No connection"
    line = page.evaluate("getComputedStyle(document.querySelector('header.top'), '::after').borderTopWidth")
    assert line == "4px", "the sheet came from the cache"


def test_only_the_shell_is_kept(phone: Any, live_server: Any) -> None:
    page = phone.new_page()
    sign_in(page, live_server)
    install(page)
    page.goto(f"{live_server.url}/probe")
    page.goto(f"{live_server.url}/sign-in/")
    page.goto(f"{live_server.url}/offline")
    kept = page.evaluate(KEPT)
    assert "/offline" in kept
    assert [path for path in kept if path != "/offline" and not path.startswith("/static/")] == []


def test_signing_in_alone_installs_nothing(phone: Any, live_server: Any) -> None:
    page = phone.new_page()
    page.goto(f"{live_server.url}/sign-in/")
    assert page.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0


def test_the_policy_finds_nothing_to_refuse(phone: Any, live_server: Any) -> None:
    page = phone.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    sign_in(page, live_server)
    install(page)
    assert [line for line in said if "Content Security Policy" in line or "Refused" in line] == []
