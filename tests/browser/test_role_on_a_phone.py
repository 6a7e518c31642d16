"""A phone without reception shows what its reader may do and no more; shut out, it holds nothing of the yard."""

import pytest
from playwright.sync_api import expect

from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.factories import UserFactory
from tests.kilnruns.factories import ready_stack
from yard.actions.people import set_admitted, set_role
from yard.models import Role

pytestmark = pytest.mark.service_worker


@pytest.fixture
def page_of(phone_context, live_server, client):
    pages = []

    def page_of(role):
        user = UserFactory()
        set_role(person=user, role=role, by=None)
        keep_signed_in(phone_context, user, client, live_server.url)
        page = phone_context.new_page()
        pages.append(faults_of(page))
        page.goto("/")
        settle(page)
        return page, user

    yield page_of
    assert [fault for faults in pages for fault in faults] == []


@pytest.mark.parametrize(("role", "count"), [(Role.GUEST, 0), (Role.HAND, 1)])
def test_without_reception_a_guest_is_shown_nothing_to_record(page_of, role, count):
    stack = ready_stack()
    page, _user = page_of(role)
    out_of_reach(page)
    page.goto(f"/stacks/{stack.code}/")
    expect(page.get_by_role("heading", name="What to do with it")).to_be_visible()
    for link in ("Record a reading", "Move", "Note", "Sample boards"):
        expect(page.get_by_role("link", name=link, exact=True)).to_have_count(count)
    page.goto(f"/stacks/{stack.code}/note/")
    expect(page.locator("form[data-outbox]")).to_have_count(count)


def test_who_is_shut_out_loses_the_copy_on_an_open_page_when_reception_is_back(page_of):
    ready_stack()
    page, user = page_of(Role.GUEST)
    assert kept(page)["stacks"]
    set_admitted(person=user, admitted=False, by=None)
    page.evaluate("""async () => {
      const { change, asked } = await import("/static/js/db.js");
      await change(["meta"], async ({ meta }) => {
        const copy = await asked(meta.get("copy"));
        meta.put({ ...copy, fetchedAt: copy.fetchedAt - 60_000 }, "copy");
      });
      window.dispatchEvent(new Event("online"));
    }""")
    page.wait_for_function("""async () => {
      const { look, asked } = await import("/static/js/db.js");
      return (await look(["stacks"], ({ stacks }) => asked(stacks.getAll()))).length === 0;
    }""")
    page.goto("/yard/")
    assert "/sign-in/" in page.url
