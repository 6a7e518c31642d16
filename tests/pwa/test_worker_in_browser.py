"""The service worker in a real browser: what it keeps, what it never keeps, and what it shows without a connection."""

import re
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.core.signals import request_started

from config import shell
from tests.factories import StackFactory
from tests.pwa.conftest import CONTROLLED, until

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
KEPT = """async () => {
  const all = [];
  for (const name of await caches.keys())
    for (const request of await (await caches.open(name)).keys()) all.push(new URL(request.url).pathname);
  return all;
}"""
EMPTY = "async () => { for (const name of await caches.keys()) await caches.delete(name); }"


@contextmanager
def held_back(path: str) -> Iterator[None]:
    """The server takes a request for that path and gives no answer until this ends."""
    free = threading.Event()

    def wait(environ: dict[str, Any], **_: Any) -> None:
        if environ["PATH_INFO"] == path:
            free.wait(30)

    request_started.connect(wait)
    try:
        yield
    finally:
        free.set()
        request_started.disconnect(wait)


def heading(page: Any) -> str:
    return str(page.get_by_role("heading", level=1).inner_text())


def test_without_a_connection_the_offline_page_stands_at_the_asked_address(installed: Any, phone: Any) -> None:
    phone.set_offline(True)
    answer = installed.goto("/no-such-page/?of=ours")
    assert installed.evaluate("location.pathname + location.search") == "/no-such-page/?of=ours"
    assert answer.from_service_worker and "x-drystack-shell" in answer.headers
    line = installed.evaluate("getComputedStyle(document.querySelector('header.top'), '::after').borderTopWidth")
    assert line == "4px", "the sheet came from the cache"


def test_only_the_shell_is_kept_and_no_page_of_the_yard(installed: Any) -> None:
    stack = StackFactory()
    for path in ("/", "/scan/", "/yard/", f"/stacks/{stack.code}/", "/setup/"):
        installed.goto(path)
    kept = installed.evaluate(KEPT)
    assert "/offline" in kept and "/static/js/scan_worker.js" in kept
    assert [path for path in kept if path != "/offline" and not path.startswith("/static/")] == []


def test_a_page_that_the_copy_can_draw_is_not_waited_for_longer_than_a_few_seconds(
    installed: Any,
) -> None:
    asked = "/yard/"
    assert any(re.search(path, asked) for path in shell.shell()["paths"])
    with held_back(asked):
        answer = installed.goto(asked)
        assert installed.evaluate("location.pathname") == asked
        assert answer.from_service_worker and answer.headers["x-drystack-shell"] == shell.shell()["cache"]


def test_a_page_that_only_the_server_can_draw_is_waited_for(installed: Any) -> None:
    asked = "/setup/"
    assert not any(re.search(path, asked) for path in shell.shell()["paths"])
    with held_back(asked):
        installed.evaluate("(path) => { location.assign(path); }", asked)
        installed.wait_for_timeout(4000)
        assert "/tags/" in installed.url, "the page that one is on stays"
    installed.wait_for_url("**/setup/")


def test_signing_in_alone_installs_nothing(phone: Any) -> None:
    page = phone.new_page()
    page.goto("/sign-in/")
    assert page.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0


def test_the_policy_finds_nothing_to_refuse(phone: Any, sign_in: Callable[[], Any]) -> None:
    sign_in()
    page = phone.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.goto("/scan/")
    page.evaluate(CONTROLLED)
    phone.set_offline(True)
    page.goto("/scan/")
    assert [line for line in said if "Content Security Policy" in line or "Refused" in line] == []


def test_a_shell_that_the_browser_threw_away_comes_back_with_the_next_page(installed: Any, phone: Any) -> None:
    before = sorted(installed.evaluate(KEPT))
    installed.evaluate(EMPTY)
    assert installed.evaluate(KEPT) == []
    installed.goto("/scan/")
    until(installed, f"async () => (await ({KEPT})()).includes('/offline')")
    assert sorted(installed.evaluate(KEPT)) == before


def test_with_the_shell_gone_and_no_connection_the_worker_says_so_in_words(installed: Any, phone: Any) -> None:
    installed.evaluate(EMPTY)
    phone.set_offline(True)
    answer = installed.goto("/scan/")
    assert answer.status == 503
    assert heading(installed) == "No connection"
    assert "any page of Drystack once" in installed.inner_text("body")


def test_where_module_workers_fail_the_classic_one_does_the_work(phone: Any, sign_in: Callable[[], Any]) -> None:
    sign_in()
    phone.add_init_script("""const register = ServiceWorkerContainer.prototype.register;
      ServiceWorkerContainer.prototype.register = function (url, options) {
        return options.type === "module" ? Promise.reject(new TypeError("modules")) : register.call(this, url, options);
      };""")
    page = phone.new_page()
    page.goto("/tags/")
    page.evaluate(CONTROLLED)
    assert "/sw-classic.js?" in page.evaluate("navigator.serviceWorker.controller.scriptURL")
    phone.set_offline(True)
    page.goto("/scan/")
    assert page.evaluate("location.pathname") == "/scan/"
    assert page.locator("header.top").count() == 1
