"""The yard's list and the chosen stack side by side on a wide screen; on a phone one after the other, as ever."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.signing_in import sign_in
from tests.factories import StackFactory, UserFactory
from yard.models.tagcode import shown

WIDE = {"viewport": {"width": 1280, "height": 800}}


@pytest.fixture
def wide(chromium, live_server):
    context = chromium.new_context(**WIDE, base_url=live_server.url)
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
    sign_in(page, UserFactory())
    yield page
    assert page.faults == []
    context.close()


def test_a_row_opens_its_stack_beside_the_list_by_keys_and_back_leads_back(wide, accessible, keep_picture):
    stacks = [StackFactory() for _ in range(3)]
    wide.goto("/yard/")
    wide.locator("a.row", has_text=shown(stacks[1].code)).focus()
    wide.keyboard.press("Enter")
    wide.wait_for_url(re.compile(f"/stacks/{stacks[1].code}/"))
    listing, thing = wide.locator(".split > .list"), wide.locator(".split > .thing")
    expect(listing.locator("[aria-current=page]")).to_contain_text(shown(stacks[1].code))
    left, right = listing.bounding_box(), thing.bounding_box()
    assert left["x"] + left["width"] <= right["x"], "the list at the left, nothing over another"
    assert right["width"] >= 480
    accessible(wide)
    keep_picture(wide, "beside")
    listing.locator("a.row", has_text=shown(stacks[2].code)).click()
    wide.wait_for_url(re.compile(f"/stacks/{stacks[2].code}/"))
    expect(listing.locator("[aria-current=page]")).to_contain_text(shown(stacks[2].code))
    wide.go_back()
    wide.wait_for_url(re.compile(f"/stacks/{stacks[1].code}/"))
    wide.go_back()
    wide.wait_for_url("**/yard/")


def test_a_phone_opens_the_stack_alone(signed_in):
    stack = StackFactory()
    signed_in.goto("/yard/")
    signed_in.locator("a.row", has_text=shown(stack.code)).click()
    signed_in.wait_for_url(f"**/stacks/{stack.code}/")
    assert signed_in.locator(".split").count() == 0
    signed_in.goto(f"/stacks/{stack.code}/?beside=on")
    expect(signed_in.locator(".split > .list")).to_be_hidden()
