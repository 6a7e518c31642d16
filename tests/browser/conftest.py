"""A real Chromium at phone size against a live server; axe-core and screenshots at hand."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.axe import COLOURS, WCAG, axe
from tests.browser.losses import losses
from tests.browser.outbox_pages import visit
from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE, chromium
from tests.factories import UserFactory

__all__ = ["chromium", "losses", "visit"]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "tests/browser" in str(item.path):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.django_db(transaction=True, serialized_rollback=False))


@pytest.fixture
def phone_context(chromium: Browser, live_server: Any, request: pytest.FixtureRequest) -> Iterator[BrowserContext]:
    """A phone; its service worker, which fetches all pages and the yard's copy anew, only where a test says so."""
    workers: Any = "allow" if request.node.get_closest_marker("service_worker") else "block"
    context = chromium.new_context(**PHONE, base_url=live_server.url, service_workers=workers)
    context.set_default_timeout(15_000)
    yield context
    context.close()


@pytest.fixture
def faults() -> list[str]:
    """What the browser complained about: uncaught errors, content policy, failed requests. Empty at the end."""
    return []


@pytest.fixture
def phone(phone_context: BrowserContext, faults: list[str]) -> Iterator[Page]:
    """A page on the phone; the test fails when its console shows an error."""
    page = phone_context.new_page()
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    yield page
    assert faults == []


@pytest.fixture
def owner(live_server: Any) -> Any:
    return UserFactory(username="owner", is_staff=True)


@pytest.fixture
def signed_in(phone: Page, owner: Any, client: Any, live_server: Any) -> Page:
    """The owner's phone at Today; by cookie, for the form is tests/browser/test_whole_path.py's."""
    keep_signed_in(phone.context, owner, client, live_server.url)
    phone.goto("/")
    return phone


@pytest.fixture
def accessible() -> Callable[[Page], None]:
    """Checks the page that is open: WCAG 2.2 AA by axe-core, nothing wider than the screen, targets of 48 px, each id
    once."""

    def check(page: Page) -> None:
        page.evaluate(BARS_IN_FLOW, True)
        result = axe(page, only=WCAG)
        page.evaluate(BARS_IN_FLOW, False)
        assert result.violations_count == 0, f"{page.url}\n{result.generate_report()}"
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide <= 0, f"{page.url} is {wide} px wider than the screen"
        small = page.evaluate(SMALL_TARGETS)
        assert small == [], f"{page.url} has targets under 48 px: {small}"
        twice = page.evaluate(TWICE)
        assert twice == [], f"{page.url} has ids twice, so that labels lead astray: {twice}"

    return check


@pytest.fixture
def readable_in_the_dark() -> Callable[[Page], None]:
    """Checks the page that is open and has passed `accessible`, in its dark colours: all else is as it was."""

    def check(page: Page) -> None:
        page.emulate_media(color_scheme="dark")
        page.evaluate(BARS_IN_FLOW, True)
        result = axe(page, only=COLOURS)
        page.evaluate(BARS_IN_FLOW, False)
        assert result.violations_count == 0, f"{page.url}, in the dark\n{result.generate_report()}"

    return check


TWICE = """() => {
  const seen = new Set();
  return [...document.querySelectorAll("[id]")].map((one) => one.id).filter((id) => seen.has(id) || !seen.add(id));
}"""

# What an open menu covers is free when it is closed, and what the bars at the foot
# cover is scrolled free by thumb or by Tab (tests/browser/test_bars.py); axe would call a
# link that happens to lie half under them too small.
BARS_IN_FLOW = """(inFlow) => {
  const bars = document.querySelectorAll("nav.bar, .acts, .dock, .who > div");
  for (const bar of bars) bar.style.position = inFlow ? "static" : "";
}"""

# Inline links in a sentence are excepted (WCAG 2.2, 2.5.8); whatever stands on its own must be 48 px high.
SMALL_TARGETS = """() => {
  const targets = "button, a.act, a.row, nav a, summary, input:not([type=hidden]), select, textarea";
  const ticks = "input[type=checkbox], input[type=radio], input[type=file]";
  const touched = e => e.matches(ticks) ? (e.closest("label") || e) : e;
  const height = e => touched(e).getBoundingClientRect().height;
  return [...document.querySelectorAll(targets)]
    .filter(e => e.checkVisibility() && !e.closest(".visually-hidden") && height(e) < 47.5)
    .map(e => `${e.tagName} ${(e.textContent || e.name || "").trim().slice(0, 30)} ${Math.round(height(e))}`);
}"""


@pytest.fixture
def looked_at(
    accessible: Callable[[Page], None],
    readable_in_the_dark: Callable[[Page], None],
    keep_picture: Callable[[Page, str], None],
) -> Callable[[Page, str], None]:
    """Checks the page that is open in the light and in its dark colours, and keeps a picture of each."""

    def look(page: Page, name: str) -> None:
        accessible(page)
        keep_picture(page, f"light_{name}")
        readable_in_the_dark(page)
        keep_picture(page, f"dark_{name}")
        page.emulate_media(color_scheme="light")

    return look


@pytest.fixture
def keep_picture() -> Callable[[Page, str], None]:
    """Screenshots for people to look at, where DRYSTACK_PICTURES names a folder."""
    folder = os.environ.get("DRYSTACK_PICTURES")

    def keep(page: Page, name: str) -> None:
        if folder:
            Path(folder).mkdir(parents=True, exist_ok=True)
            page.screenshot(path=str(Path(folder) / f"{name}.png"))

    return keep
