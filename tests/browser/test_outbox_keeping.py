"""What is recorded is on the phone's disk before the screen says so, whatever the reception and the disk are like."""

import pytest
from playwright.sync_api import expect

from tests.browser.outbox_pages import fill_reading, header_says, in_store, record_reading, record_without_reception
from tests.factories import StackFactory
from yard.models import Reading

WATCH = """
  window.log = [];
  const transaction = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (names, mode, options) {
    const made = transaction.call(this, names, mode, options);
    const isKeeping = mode === "readwrite" && names.includes("outbox");
    if (isKeeping) made.addEventListener("complete", () => window.log.push(`on disk, ${options.durability}`));
    return made;
  };
  addEventListener("DOMContentLoaded", () => {
    const said = () => window.log.push("said");
    new MutationObserver(said).observe(document.getElementById("messages"), { childList: true });
  });
"""
FULL_DISK = """
  IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); };
"""
PRIVATE = "Object.defineProperty(window, 'indexedDB', { value: { open() { throw new Error('private'); } } });"


@pytest.fixture
def stack(live_server):
    return StackFactory()


def test_with_reception_it_is_sent_at_once_and_the_stack_shows_it(visit, stack, losses):
    page = visit()
    record_reading(page, stack)
    page.wait_for_url(f"**/stacks/{stack.code}/")
    assert page.get_by_role("status").filter(has_text="Kept:").count() == 1  # the server's own words
    assert Reading.objects.get().raw == [18]
    assert in_store(page) == []
    assert losses.headers[0]["X-Drystack-Outbox"] == "live"


def test_it_is_on_the_disk_before_it_is_said(visit, stack):
    page = visit()
    page.add_init_script(WATCH)
    record_without_reception(page, stack)
    log = page.evaluate("log")
    assert log[0] == "on disk, strict"
    assert "said" in log[1:]


def test_without_reception_it_waits_and_goes_by_itself(visit, stack, keep_picture):
    page = visit()
    record_without_reception(page, stack)
    header_says(page, "1 waiting")
    keep_picture(page, "outbox-kept")
    [record] = in_store(page)
    assert record["words"] == [["Reading", "18"]] or record["words"][0][1] == "18"
    assert record["subject"] == stack.code
    assert record["seen"] == str(stack.events.order_by("-pk").values_list("pk", flat=True).first() or "")
    assert Reading.objects.count() == 0
    page.context.set_offline(False)
    expect(page.locator("[data-waiting-count]")).to_be_hidden()
    assert Reading.objects.count() == 1
    assert in_store(page) == []


def test_a_double_tap_makes_one_record(visit, stack, losses):
    page = visit()
    fill_reading(page, stack, "18")
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep").dblclick()
    page.get_by_text("It is sent when there is reception").wait_for()
    assert len(in_store(page)) == 1


def test_the_button_that_was_tapped_is_part_of_it(visit, stack):
    from tests.factories import PlaceFactory

    place = PlaceFactory(name="Open row")
    page = visit()
    page.goto(f"/stacks/{stack.code}/move/")
    page.context.set_offline(True)
    page.get_by_role("button", name="Open row").click()
    page.get_by_text("It is sent when there is reception").wait_for()
    [record] = in_store(page)
    assert record["fields"] == [["place", str(place.pk)]]
    assert record["words"] == [["", "Open row"]]


@pytest.mark.parametrize("fault", [FULL_DISK, PRIVATE], ids=["full disk", "private window"])
def test_what_the_phone_cannot_keep_is_sent_as_an_ordinary_form(visit, stack, losses, fault):
    page = visit()
    page.add_init_script(fault)
    record_reading(page, stack)
    page.wait_for_url(f"**/stacks/{stack.code}/")
    assert Reading.objects.count() == 1
    assert losses.sent == []  # by the form itself


@pytest.mark.parametrize("fault", [FULL_DISK, PRIVATE], ids=["full disk", "private window"])
def test_what_can_be_neither_kept_nor_sent_stays_in_the_form_and_nobody_says_kept(visit, stack, fault, keep_picture):
    page = visit()
    page.add_init_script(fault)
    fill_reading(page, stack, "18")
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Not kept.").wait_for()
    keep_picture(page, "outbox-not-kept")
    assert page.get_by_text("Kept on this phone").count() == 0
    assert page.locator("#id_values").input_value() == "18"
    page.context.set_offline(False)
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    assert Reading.objects.count() == 1
