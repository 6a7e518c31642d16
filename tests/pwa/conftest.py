"""A phone: Debian's Chromium at 360 × 740, driven by Playwright; signed in and with the service worker at work."""

from collections.abc import Callable, Iterator
from contextlib import suppress
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from tests.chromium import chromium

__all__ = ["chromium"]

# Resolves when a worker has this page.
CONTROLLED = """() => new Promise((done) => {
  navigator.serviceWorker.addEventListener("controllerchange", () => done());
  if (navigator.serviceWorker.controller) done();
})"""


def until(page: Any, script: str, arg: Any = None) -> None:
    """Waits until the script's promise resolves with something true; Playwright's own wait takes any promise as it."""
    from playwright.sync_api import Error

    for _ in range(300):
        with suppress(Error):  # the page is just being loaded anew
            if page.evaluate(script, arg):
                return
        page.wait_for_timeout(100)
    pytest.fail(f"never came true: {script}")


@pytest.fixture
def phone(chromium: Any, live_server: Any) -> Iterator[Any]:
    """A fresh browser context, so that neither cookies nor workers last."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, has_touch=True, base_url=live_server.url)
    context.set_default_timeout(30_000)
    yield context
    context.close()


@pytest.fixture
def sign_in(phone: Any, live_server: Any) -> Callable[[], Any]:
    """Gives the phone the cookie of someone who has signed in, and returns that person."""

    def enter() -> Any:
        person = get_user_model().objects.create_user("orla")
        client = Client()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        phone.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}])
        return person

    return enter


@pytest.fixture
def installed(phone: Any, sign_in: Callable[[], Any]) -> Any:
    """A page of someone signed in, after the first visit: the worker has it."""
    sign_in()
    page = phone.new_page()
    page.goto("/tags/")
    page.evaluate(CONTROLLED)
    return page
