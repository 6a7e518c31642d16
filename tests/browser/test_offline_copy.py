"""Whose copy of the yard a phone holds, when it is fetched anew, and when it goes."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.factories import PASSWORD, TagFactory, UserFactory
from tests.kilnruns.factories import ready_stack
from yard.actions.stacks import use
from yard.actions.tags import replace
from yard.models import Stack

pytestmark = pytest.mark.service_worker


@pytest.fixture
def phone_of(phone_context, live_server, client):
    """phone_of(user) -> a page of that user, on the one phone there is, the copy fetched."""
    pages = []

    def phone_of(user):
        page = phone_context.new_page()
        pages.append(faults_of(page))
        keep_signed_in(phone_context, user, client, live_server.url)
        page.goto("/")
        settle(page)
        return page

    yield phone_of
    assert [fault for faults in pages for fault in faults] == []


def codes(page):
    return {row["code"] for row in kept(page)["stacks"]}


def until(page, holds):
    for _turn in range(100):
        if holds():
            return
        page.wait_for_timeout(100)
    raise AssertionError(kept(page))


def later(page):
    """Make the copy look a minute older, and open a page."""
    page.evaluate("""async () => {
      const { change, asked } = await import("/static/js/db.js");
      await change(["meta"], async ({ meta }) => {
        const copy = await asked(meta.get("copy"));
        meta.put({ ...copy, fetchedAt: copy.fetchedAt - 60_000 }, "copy");
      });
    }""")
    page.goto("/yard/")


def test_it_holds_what_stands_and_follows_what_changes(phone_of, owner):
    one, two, tag = ready_stack(), ready_stack(), TagFactory()
    page = phone_of(owner)
    assert codes(page) == {one.code, two.code}
    assert [row["code"] for row in kept(page)["tags"]] == [tag.code]
    assert kept(page)["user"] == {"id": str(owner.pk), "name": "owner"}
    use(stack=two, for_what="A door", by=owner, at="2026-06-01T09:00Z")
    old = one.code
    new = replace(stack=one, code=tag.code, by=owner, at="2026-06-01T09:00Z").code
    later(page)
    until(page, lambda: codes(page) == {new})
    assert [(row["code"], row["to"]) for row in kept(page)["tags"]] == [(old, new)]


def test_a_fresh_copy_is_not_fetched_again_with_each_page(phone_of, owner):
    page = phone_of(owner)
    fetched = []
    page.on("request", lambda request: fetched.append(request.url) if "/copy/" in request.url else None)
    for address in ("/yard/", "/scan/", "/"):
        page.goto(address)
        page.wait_for_timeout(300)
    assert fetched == []
    later(page)
    until(page, lambda: len(fetched) == 1)
    assert "since=W" in fetched[0], "from where it stands, not whole"


def test_what_was_just_done_here_is_in_the_copy_at_once(phone_of, owner):
    stack = ready_stack()
    page = phone_of(owner)
    page.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    page.locator("#id_values").fill("17")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    until(page, lambda: kept(page)["stacks"][0].get("read"))


def test_signing_out_takes_it_off_the_phone(phone_of, owner):
    ready_stack()
    page = phone_of(owner)
    page.locator("details.who > summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    until(page, lambda: kept(page)["stacks"] == [])
    assert kept(page).get("user") is None and kept(page).get("copy") is None
    out_of_reach(page)
    page.goto("/")
    expect(page.locator("h1")).to_have_text("No copy of the yard yet")


def test_another_user_s_pages_are_drawn_from_his_own_copy(phone_of, owner, phone_context):
    ready_stack(note="Near the gate")
    phone_of(owner)
    Stack.objects.update(note="Behind the barn")
    anna = UserFactory(username="anna")
    page = phone_of(anna)
    until(page, lambda: kept(page)["user"]["id"] == str(anna.pk))
    until(page, lambda: [row["note"] for row in kept(page)["stacks"]] == ["Behind the barn"])


def test_when_the_session_has_ended_the_copy_goes_and_the_outbox_stays(phone_of, owner, phone_context):
    stack = ready_stack()
    page = phone_of(owner)
    out_of_reach(page)
    page.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    page.locator("#id_values").fill("17")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    phone_context.clear_cookies()
    page.context.set_offline(False)
    page.goto("/yard/")
    page.wait_for_url("**/sign-in/**")
    until(page, lambda: kept(page)["stacks"] == [])
    assert len(kept(page)["outbox"]) == 1
    page.get_by_label("Username").fill(owner.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    until(page, lambda: codes(page) == {stack.code})


def test_an_offline_page_forgets_the_copy_when_somebody_else_turns_out_to_be_signed_in(
    phone_of, owner, phone_context, client, live_server
):
    ready_stack()
    page = phone_of(owner)
    out_of_reach(page)
    page.goto("/yard/")
    page.locator("[data-stacks] > li").first.wait_for()
    keep_signed_in(phone_context, UserFactory(), client, live_server.url)
    with page.expect_navigation():
        page.context.set_offline(False)
    until(page, lambda: (kept(page).get("user") or {}).get("id") != str(owner.pk))


def test_a_reading_half_typed_is_kept_before_the_copy_of_a_person_signed_out_goes(phone_of, owner, phone_context):
    stack = ready_stack()
    page = phone_of(owner)
    out_of_reach(page)
    page.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    page.locator("#id_values").fill("17")
    phone_context.clear_cookies()
    with page.expect_response("**/probe"):
        page.context.set_offline(False)
    page.wait_for_timeout(500)
    expect(page.locator("#id_values")).to_have_value("17")
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    assert len(kept(page)["outbox"]) == 1


def test_reception_that_comes_back_is_told_on_the_page(phone_of, owner):
    page = phone_of(owner)
    out_of_reach(page)
    page.goto("/scan/")
    expect(page.get_by_text(re.compile("^As of .* No reception"))).to_be_visible()  # drawn, and it listens
    page.context.set_offline(False)
    expect(page.get_by_text("There is reception again.")).to_be_visible()
    page.get_by_role("link", name="Try again").click()
    page.get_by_label("Photo of the tag").wait_for()


def test_a_phone_that_the_browser_emptied_works_on_and_has_its_copy_back(phone_of, owner):
    stack = ready_stack()
    page = phone_of(owner)
    page.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    emptied = "() => new Promise((done) => { indexedDB.deleteDatabase('drystack').onsuccess = () => done(true); })"
    assert page.evaluate(emptied)
    page.locator("#id_values").fill("14")
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Kept on this phone.")).to_be_visible()
    assert len(kept(page)["outbox"]) == 1
    page.context.set_offline(False)
    page.goto("/")
    settle(page, stacks=1)
    until(page, lambda: not kept(page)["outbox"])
    assert stack.readings.get().raw == [14.0]
