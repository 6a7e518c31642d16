"""Tagging a stack at phone size: from the blank tag to the kept stack, and what is done to it then."""

import pytest

from tests.factories import PlaceFactory, SpeciesFactory, StackFactory, TagFactory
from yard.models import Stack


@pytest.fixture
def yard(live_server):
    """A blank tag, and a stack whose values are offered."""
    species = SpeciesFactory(name="Testwood")
    StackFactory(species=species, place=PlaceFactory(name="Long shed"))
    PlaceFactory(name="Open row")
    return TagFactory()


def test_a_stack_is_tagged_with_a_running_preview(signed_in, yard, accessible, keep_picture):
    page = signed_in
    page.goto(f"/T/{yard.code}")
    accessible(page)
    page.get_by_label("Line 1, length").fill("4")
    page.get_by_label("Line 1, width").fill("150")
    page.get_by_label("Line 1, boards").fill("30")
    # 30 boards of 4 m x 150 mm x 27 mm are 0.486 m3
    page.locator("#stack-preview .figure").get_by_text("0.49").wait_for()
    keep_picture(page, "new-stack")
    accessible(page)
    page.get_by_role("button", name="Keep this stack").click()
    page.wait_for_url(f"**/stacks/{yard.code}/")
    assert Stack.objects.get(code=yard.code).board_count == 30


def test_lines_are_added_without_losing_what_was_typed(signed_in, yard):
    page = signed_in
    page.goto(f"/T/{yard.code}")
    page.get_by_label("Line 1, length").fill("3,2")
    page.get_by_role("button", name="Add lines").click()
    page.get_by_label("Line 8, length").wait_for()
    assert page.get_by_label("Line 1, length").input_value() == "3,2"


def test_random_widths_go_into_lines_without_javascript(chromium, live_server, owner, yard, client):
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    context = chromium.new_context(base_url=live_server.url, java_script_enabled=False)
    context.add_cookies([{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}])
    page = context.new_page()
    page.goto(f"/T/{yard.code}")
    page.get_by_text("Random widths of one length").click()
    page.locator("#id_random-length").fill("2.5")
    page.locator("#id_random-widths").fill("150 2x175")
    page.get_by_role("button", name="Put into lines").locator("visible=true").click()
    assert page.get_by_label("Line 2, width").input_value() == "175"
    assert page.get_by_label("Line 2, boards").input_value() == "2"
    page.get_by_role("button", name="Keep this stack").click()
    assert Stack.objects.get(code=yard.code).board_count == 3
    context.close()


def test_what_is_wrong_is_listed_and_led_to(signed_in, yard, accessible, faults):
    page = signed_in
    page.goto(f"/T/{yard.code}")
    page.get_by_label("Line 1, length").fill("400")
    page.get_by_role("button", name="Keep this stack").click()
    page.get_by_role("alert").get_by_role("link", name="Tally").click()
    assert "could be mm or cm" in page.content()
    accessible(page)
    only_status(faults, 422)


def test_moving_takes_two_taps(signed_in, yard):
    page = signed_in
    stack = Stack.objects.get()
    page.goto(f"/stacks/{stack.code}/")
    page.get_by_role("link", name="Move").click()
    page.get_by_role("button", name="Open row").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    assert Stack.objects.get().place.name == "Open row"


PAGES = [
    "/scan/",
    "/tags/",
    "/t/{blank}/board/",
    "/t/{blank}/replaces/",
    *[f"/stacks/{{code}}/{what}/" for what in ("edit", "move", "split", "join", "use", "retag", "photos", "boards")],
]


def test_every_page_around_tags_is_accessible(signed_in, yard, looked_at):
    code = Stack.objects.get().code
    for address in PAGES:
        signed_in.goto(address.format(blank=yard.code, code=code))
        looked_at(signed_in, "tags" + address.format(blank="blank", code="code").replace("/", "_"))


def test_a_misspelt_tag_gives_its_hint_on_an_accessible_page(signed_in, yard, accessible, faults):
    signed_in.goto("/t/0BCDEFGHJK")
    assert "Is it D or Q?" in signed_in.content()
    accessible(signed_in)
    only_status(faults, 404)


def only_status(faults, status):
    """The browser reports what was refused as a fault, to the outbox and then as a page; that was meant."""
    assert faults
    assert all(str(status) in fault for fault in faults)
    faults.clear()
