"""German and Swedish at 360 px, where long words break a page: what the phone draws, and the main pages online."""

from collections.abc import Callable
from typing import Any

import pytest
from django.utils import translation
from django.utils.translation import gettext
from playwright.sync_api import Browser, Page

from tests.browser.test_offline_pages import ADDRESSES, visit, yard
from tests.chromium import PHONE
from tests.kilnruns.factories import propose
from yard.actions.language import choose

__all__ = ["visit", "yard"]
MAIN = (
    "/", "/scan/", "/yard/", "/t/{code}", "/t/{blank}", "/stacks/{code}/readings/new/?method=pins", "/kilns/",
    "/proposals/{proposal}/", "/charges/{charge}/loading/", "/charges/{running}/", "/needs/", "/setup/",
)  # fmt: skip


@pytest.mark.service_worker
def test_without_reception_in_german(
    visit: Any, yard: Any, owner: Any, accessible: Callable[[Page], None], keep_picture: Callable[[Page, str], None]
) -> None:
    # not the browser's own language, nor the usual units: the worker's script is asked for without cookies
    choose(language="de", units="imperial", by=owner)
    page = visit()
    with translation.override("de"):
        again = gettext("Try again")
    wrong = []
    for name, (address, _heading) in ADDRESSES.items():
        page.goto(address.format(**yard))
        page.locator("[data-drawn] > :not(noscript)").first.wait_for(state="attached")
        page.get_by_role("link", name=again).wait_for()
        assert page.evaluate("document.documentElement.lang") == "de"
        keep_picture(page, f"offline-de-{name}")
        try:
            accessible(page)
        except AssertionError as error:
            wrong.append(str(error))
    assert wrong == []


@pytest.mark.parametrize("language", ["de", "sv"])
def test_the_main_pages(
    chromium: Browser, live_server: Any, client: Any, yard: Any, owner: Any, language: str,
    accessible: Callable[[Page], None], keep_picture: Callable[[Page, str], None],
) -> None:  # fmt: skip
    choose(language=language, by=owner)
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    context = chromium.new_context(**PHONE, base_url=live_server.url, service_workers="block")
    cookie = {"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}
    context.add_cookies([cookie])
    page, proposal, wrong = context.new_page(), propose(), []
    for address in MAIN:
        response = page.goto(address.format(**yard, proposal=proposal.pk))
        assert response, address
        assert (response.status, page.evaluate("document.documentElement.lang")) == (200, language), address
        keep_picture(page, f"{language}-{address.replace('/', '_')}")
        try:
            accessible(page)
        except AssertionError as error:
            wrong.append(str(error))
    context.close()
    assert wrong == []
