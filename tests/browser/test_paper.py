"""A paper from end to end: made on a phone, printed, its symbol scanned off the print by a stranger, then ended."""

import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from kilnruns.models import Paper
from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE
from tests.factories import UserFactory
from tests.kilnruns.closed import finished
from tests.kilnruns.factories import COURSE
from tests.kilnruns.printed import words
from tests.yard.spoiled import need_poppler
from yard.models import Mill, Stack


@pytest.fixture
def stack(live_server: Any) -> Stack:
    """One of two that came out of a kiln measured."""
    Mill.objects.create(pk=1, name="Hollow mill")
    charge = finished(stacks=2, course=COURSE)
    return charge.stacks.all()[0].stack


def context_of(chromium: Browser, live_server: Any) -> BrowserContext:
    context = chromium.new_context(**PHONE, base_url=live_server.url, color_scheme="light")
    context.set_default_timeout(15_000)
    return context


@pytest.fixture
def page(chromium: Browser, live_server: Any, client: Any, stack: Stack) -> Iterator[Page]:
    context = context_of(chromium, live_server)
    keep_signed_in(context, UserFactory(is_staff=True), client, live_server.url)
    yield context.new_page()
    context.close()


@pytest.fixture
def stranger(chromium: Browser, live_server: Any, faults: list[str]) -> Iterator[Page]:
    """A browser that was never here."""
    context = context_of(chromium, live_server)
    page = context.new_page()
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    yield page
    context.close()


def symbols_on(pdf: bytes, folder: Path) -> list[str]:
    (folder / "paper.pdf").write_bytes(pdf)
    subprocess.run(["pdftoppm", "-gray", "-r", "150", folder / "paper.pdf", folder / "page"], check=True)
    (page,) = folder.glob("page*.pgm")
    return [found.text for found in zxingcpp.read_barcodes(Image.open(page))]


def test_a_certificate_is_made_printed_and_opened_by_a_stranger_until_its_link_is_ended(
    page: Page,
    stranger: Page,
    stack: Stack,
    faults: list[str],
    tmp_path: Path,
    looked_at: Callable[[Page, str], None],
) -> None:
    need_poppler()

    def look(at: Page, name: str) -> None:
        looked_at(at, f"paper_{name}")

    page.goto(f"/stacks/{stack.code}/")
    page.locator("summary", has_text="More: split").click()
    page.get_by_role("link", name="Delivery note or dry certificate").click()
    page.get_by_role("radio", name="dry certificate").check()
    page.get_by_label("To whom").fill("Heron Lane joinery\nOrder 31")
    look(page, "form")
    page.get_by_role("button", name="See it first").click()
    expect(page.get_by_role("heading", name="Dry certificate, not issued yet")).to_be_visible()
    page.get_by_label("Let whoever has its link see it").check()
    look(page, "preview")
    page.get_by_role("button", name="Issue it").click()
    expect(page.get_by_role("heading", name="Dry certificate 1")).to_be_visible()
    look(page, "issued")
    printed = words(page.pdf(format="A4"))
    assert "Comparing mark" in printed and "standard deviation" in printed
    assert "Print it" not in printed and "End the link" not in printed and "/p/" not in printed

    pdf = page.request.get(page.get_by_role("link", name="Print it").get_attribute("href") or "").body()
    (address,) = symbols_on(pdf, tmp_path)
    paper = Paper.objects.get()
    assert address.lower() == f"{page.url.split('/papers/')[0]}/p/{paper.live_link.token}".lower()  # type: ignore[union-attr]

    response = stranger.goto(address)
    assert response is not None and response.status == 200
    expect(stranger.get_by_role("heading", name="Dry certificate 1")).to_be_visible()
    shown = [stranger.locator("article.paper-facts").inner_text(), page.locator("article.paper-facts").inner_text()]
    assert shown[0] == shown[1]
    assert "Heron Lane joinery" in shown[0] and "capacitance meter" in shown[0]
    look(stranger, "stranger")
    assert stranger.locator("a, button, form, script, nav").count() == 0
    assert stranger.context.cookies() == []
    assert faults == []

    page.get_by_role("button", name="End the link").click()
    expect(page.get_by_text("Only who signs in here.")).to_be_visible()
    ended = stranger.goto(address)
    assert ended is not None and ended.status == 410
    expect(stranger.get_by_role("heading", name="This paper is no longer shown")).to_be_visible()
    look(stranger, "ended")


def test_a_withdrawn_paper_says_so_to_a_stranger_and_on_the_list(
    page: Page, stranger: Page, stack: Stack, looked_at: Callable[[Page, str], None]
) -> None:
    page.goto(f"/papers/new/?stack={stack.code}")
    page.get_by_label("To whom").fill("Heron Lane joinery")
    page.get_by_role("button", name="See it first").click()
    page.get_by_label("Let whoever has its link see it").check()
    page.get_by_role("button", name="Issue it").click()
    address = page.locator("code.raw").inner_text()
    page.locator("summary", has_text="It is wrong").click()
    page.get_by_label("Why it is withdrawn").fill("The wrong pack")
    page.get_by_role("button", name="Withdraw it").click()
    expect(page.get_by_text("The wrong pack. It no longer holds.")).to_be_visible()
    looked_at(page, "paper_withdrawn")
    page.goto("/papers/?q=heron")
    expect(page.get_by_text("withdrawn", exact=True)).to_be_visible()
    looked_at(page, "paper_among_others")
    stranger.goto(address)
    expect(stranger.get_by_role("heading", name="This paper was withdrawn")).to_be_visible()
    expect(stranger.get_by_text("The wrong pack")).to_have_count(0)
    looked_at(stranger, "paper_withdrawn_to_a_stranger")
