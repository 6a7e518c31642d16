"""What a person sees of what waits: how much, what was typed, why it was refused; mending, discarding, signing out."""

import pytest
from playwright.sync_api import expect

from tests.browser.outbox_pages import (
    all_gone,
    fill_reading,
    header_says,
    in_store,
    record_reading,
    record_without_reception,
)
from tests.factories import PASSWORD, StackFactory, UserFactory
from yard.models import Reading


@pytest.fixture
def stack(live_server):
    return StackFactory()


@pytest.fixture
def refused(visit, stack):
    """A page with a reading that was kept without reception and then not accepted, and one that waits behind it."""
    page = visit()
    record_without_reception(page, stack, "182")
    page.locator("#id_values").fill("19")
    page.get_by_role("button", name="Keep").click()
    header_says(page, "2 waiting")
    page.context.set_offline(False)
    header_says(page, "1 not accepted · 1 waiting")
    return page


def sign_in(page, name):
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")


def open_menu(page):
    page.locator("details.who > summary").click()


def test_the_list_says_what_waits_and_why(refused, stack, looked_at):
    page = refused
    page.get_by_role("link", name="1 not accepted").click()
    page.wait_for_url("**/waiting/")
    first, second = page.locator("[data-list=waiting] > li").all()
    assert "182" in first.text_content()
    assert "not accepted" in first.text_content()
    assert first.get_by_role("listitem").count() >= 1  # the reason
    assert second.get_by_text("Goes when what was recorded before it").is_visible()
    looked_at(page, "outbox_waiting")
    assert Reading.objects.count() == 0


def test_a_refused_one_is_mended_and_what_waited_behind_it_follows(refused, stack, accessible, keep_picture):
    page = refused
    key = next(record["key"] for record in in_store(page) if record["state"] == "refused")
    page.goto("/waiting/")
    page.get_by_role("link", name="Mend it").click()
    page.wait_for_url("**/readings/new/**")
    expect(page.locator("#id_values")).to_have_value("182")
    assert page.locator(".field.invalid .error").count() == 1
    accessible(page)
    keep_picture(page, "outbox-mend")
    page.locator("#id_values").fill("18")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    expect(page.locator("[data-waiting-count]")).to_be_hidden()
    assert [found.raw for found in Reading.objects.order_by("pk")] == [[18], [19]]
    assert key in [note["key"] for note in in_store(page, "arrived")]  # the same one


def test_mending_that_is_still_wrong_says_so_and_loses_nothing(refused, stack):
    page = refused
    page.goto("/waiting/")
    page.get_by_role("link", name="Mend it").click()
    expect(page.locator("#id_values")).to_have_value("182")
    page.locator("#id_values").fill("181")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("form .error")).to_contain_text("181 %")
    expect(page.locator("#id_values")).to_have_value("181")
    assert Reading.objects.count() == 0
    page.locator("#id_values").fill("18")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")


def test_discarding_asks_once_more_and_lets_the_next_one_go(refused, stack):
    page = refused
    page.goto("/waiting/")
    first = page.locator("[data-list=waiting] > li").first
    assert not first.get_by_role("button", name="Discard it for good").is_visible()
    first.get_by_text("Discard", exact=True).click()
    first.get_by_role("button", name="Discard it for good").click()
    expect(page.locator("[data-list=waiting] > li")).to_have_count(0)
    assert [found.raw for found in Reading.objects.all()] == [[19]]


def test_what_arrived_is_listed_and_what_is_to_sort_out_is_marked(visit, stack, accessible, keep_picture):
    page = visit()
    record_reading(page, stack)
    page.wait_for_url(f"**/stacks/{stack.code}/")
    page.evaluate(
        """async () => {
          const { all, change } = await import("/static/js/db.js");
          const [note] = await all("arrived");
          await change(["arrived"], ({ arrived }) => arrived.put({ ...note, key: "other", sortOut: true }));
        }"""
    )
    page.goto("/waiting/")
    expect(page.get_by_text("Nothing waits.")).to_be_visible()
    expect(page.locator("[data-list=arrived] .badge.ready")).to_have_text("arrived")
    expect(page.locator("[data-list=arrived] .badge.warn")).to_have_text("to sort out")
    accessible(page)
    keep_picture(page, "outbox-arrived")
    page.get_by_role("link", name="Open").first.click()
    page.wait_for_url(f"**/stacks/{stack.code}/")


def test_a_refusal_whose_page_never_comes_is_still_there_to_mend(visit, stack):
    page = visit()
    fill_reading(page, stack, "999")
    page.evaluate("HTMLFormElement.prototype.submit = () => {}")  # the connection goes between answer and page
    page.get_by_role("button", name="Keep").click()
    page.wait_for_function("sessionStorage.length > 0")
    page.goto("/waiting/")
    expect(page.get_by_role("link", name="Mend")).to_be_visible()
    assert [record["state"] for record in in_store(page)] == ["refused"]


def test_live_refusals_are_shown_by_the_servers_own_page(visit, stack):
    page = visit()
    record_reading(page, stack, "182")
    expect(page.locator(".field.invalid .error")).to_be_visible()
    expect(page.locator("#id_values")).to_have_value("182")
    assert in_store(page) == []


def test_signing_out_with_things_waiting_warns_and_nobody_else_sees_or_sends_them(
    visit, stack, losses, owner, accessible, keep_picture
):
    UserFactory(username="other")
    page = visit()
    record_without_reception(page, stack)
    losses.decide = lambda request: "503"
    page.context.set_offline(False)
    page.reload()
    header_says(page, "1 waiting")
    open_menu(page)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("alert").filter(has_text="1 waiting on this phone")).to_be_visible()
    accessible(page)
    keep_picture(page, "outbox-signing-out")
    page.get_by_role("button", name="Sign out all the same").click()
    page.wait_for_url("**/sign-in/**")
    losses.decide = lambda request: "pass"
    sign_in(page, "other")
    page.goto("/waiting/")
    expect(page.get_by_text("Nothing waits.")).to_be_visible()
    expect(page.locator("[data-waiting-count]")).to_be_hidden()
    assert "182" not in page.content()
    assert Reading.objects.count() == 0
    open_menu(page)
    page.get_by_role("button", name="Sign out").click()  # nothing of theirs waits
    page.wait_for_url("**/sign-in/**")
    sign_in(page, owner.username)
    all_gone(page)
    assert Reading.objects.get().made_by == owner


PROMISES = """
  StorageManager.prototype.persist = async () => (window.asked = true);
  StorageManager.prototype.persisted = async () => true;
"""


def test_the_browser_is_asked_to_keep_it_for_good_and_the_page_says_what_came_of_it(visit, stack):
    page = visit()
    page.goto("/waiting/")
    expect(page.get_by_text("may clear what waits")).to_be_visible()  # a headless browser promises nothing
    page.add_init_script(PROMISES)
    record_without_reception(page, stack)
    assert page.evaluate("window.asked")
    page.context.set_offline(False)
    page.goto("/waiting/")
    expect(page.get_by_text("has promised to keep what waits")).to_be_visible()
