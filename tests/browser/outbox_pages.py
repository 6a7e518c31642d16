"""Pages for the outbox's tests: without a service worker, so that each page is the server's or none."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, expect

from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE

KEEP = """async ([user, records]) => {
  const { keep } = await import("/static/js/outbox.js");
  const given = { user, title: "Reading", about: "", words: [], page: "/" };
  return (await keep(...records.map((record) => ({ ...given, ...record })))).map((record) => record.key);
}"""


@pytest.fixture
def visit(chromium: Browser, live_server: Any, client: Any, owner: Any) -> Iterator[Callable[..., Page]]:
    """visit() -> a page of a new phone on which the owner is signed in; visit(page) -> one more tab of that phone."""
    contexts: list[Any] = []
    faults: list[str] = []

    def new_context() -> Any:
        kind: dict[str, Any] = {**PHONE, "base_url": live_server.url, "service_workers": "block"}
        context = chromium.new_context(**kind)
        context.set_default_timeout(15_000)
        keep_signed_in(context, owner, client, live_server.url)
        contexts.append(context)
        return context

    def open_tab(other: Page | None = None) -> Page:
        page = (other.context if other else new_context()).new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        return page

    yield open_tab
    for context in contexts:
        context.close()
    assert faults == []


def fill_reading(page: Page, stack: Any, moisture: str) -> None:
    page.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    page.locator("#id_values").fill(moisture)


def record_reading(page: Page, stack: Any, moisture: str = "18") -> None:
    fill_reading(page, stack, moisture)
    page.get_by_role("button", name="Keep").click()


def record_without_reception(page: Page, stack: Any, moisture: str = "18") -> None:
    """The page is open, the reception goes, the reading is kept; then there is reception again, unheard by the page."""
    fill_reading(page, stack, moisture)
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("It is sent when there is reception").wait_for()


def header_says(page: Page, text: str) -> None:
    expect(page.locator("[data-waiting-count]")).to_have_text(text)


def in_store(page: Page, name: str = "outbox") -> list[dict[str, Any]]:
    """The records of the phone's own store; of files the number of bytes."""
    return page.evaluate(
        """async (name) => {
          const { all } = await import("/static/js/db.js");
          const sizes = (files = []) => files.map(({ bytes }) => bytes.byteLength);
          return (await all(name)).map((record) => ({ ...record, files: sizes(record.files) }));
        }""",
        name,
    )


def all_gone(page: Page) -> None:
    """Waits until nothing waits on the phone, by its own triggers."""
    for _ in range(200):
        page.wait_for_timeout(100)
        try:
            if in_store(page) == []:
                return
        except Error:
            pass  # between two pages
    raise AssertionError(f"left: {in_store(page)}")
