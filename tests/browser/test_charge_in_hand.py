"""A charge loaded, started and unloaded on a phone: fit for it at each step, and the same without any script."""

import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Browser, Page, expect

from tests.browser.signing_in import sign_in
from tests.chromium import PHONE
from tests.factories import PlaceFactory, UserFactory
from tests.kilnruns.factories import charge_of, ready_stack


def test_the_pages_of_a_charge_in_hand_are_fit_for_a_phone(signed_in: Page, accessible: Callable[[Page], None]) -> None:
    PlaceFactory(name="Dry store", kind="closed_store")
    charge = charge_of(ready_stack(), ready_stack())
    signed_in.goto(f"/charges/{charge.pk}/loading/")
    signed_in.get_by_role("button", name=re.compile("^In ")).first.click()
    expect(signed_in.get_by_text("1 of 2 in")).to_be_visible()
    accessible(signed_in)
    signed_in.get_by_role("button", name="Close the door and start").click()
    expect(signed_in.get_by_text("Day 1")).to_be_visible()
    accessible(signed_in)
    signed_in.get_by_role("link", name="Unload it").click()
    accessible(signed_in)


def test_a_charge_is_loaded_and_unloaded_without_any_script(chromium: Browser, live_server: Any) -> None:
    user = UserFactory()
    PlaceFactory(name="Dry store", kind="closed_store")
    stacks = [ready_stack(), ready_stack()]
    charge = charge_of(*stacks)
    context = chromium.new_context(**PHONE, base_url=live_server.url, java_script_enabled=False)
    context.set_default_timeout(15_000)
    page = context.new_page()
    sign_in(page, user)
    page.get_by_role("link", name="Load", exact=True).click()
    page.get_by_label("Tag").fill(stacks[0].code)
    page.get_by_label("Tag").press("Enter")
    page.get_by_role("button", name=re.compile("^In ")).click()
    expect(page.get_by_text("2 of 2 in")).to_be_visible()
    page.get_by_role("button", name="Close the door and start").click()
    page.get_by_role("link", name="Unload it").click()
    page.get_by_label("Tag").fill(stacks[0].code)
    page.get_by_label("Tag").press("Enter")
    expect(page.get_by_text("1 of 2 out")).to_be_visible()
    page.get_by_role("button", name=re.compile("^Out ")).click()
    expect(page.get_by_text("All is out")).to_be_visible()
    context.close()
    charge.refresh_from_db()
    assert charge.state == "done"


def test_an_empty_yard_and_its_first_page_are_fit_for_a_phone(
    phone: Page, live_server: Any, accessible: Callable[[Page], None]
) -> None:
    phone.goto("/")
    expect(phone.get_by_role("heading", name="Start your yard")).to_be_visible()
    accessible(phone)
