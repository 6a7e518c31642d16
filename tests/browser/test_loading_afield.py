"""A charge loaded by its tags where there is no reception: each stack checked off once, whichever tag was read."""

import shutil
from contextlib import contextmanager

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from tests.browser.cameras import VIEWS, camera_browser, film, frame
from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.test_offline_recording import back_in_reach, sign_in
from tests.chromium import PHONE
from tests.factories import BoardFactory
from tests.kilnruns.factories import KilnFactory, charge_of, ready_stack
from tests.yard.spoiled import need_poppler, printed_tags
from yard.actions.tags import replace
from yard.labels import label_printer
from yard.models import Receipt, Tag
from yard.models.tagcode import shown


@pytest.fixture
def camera(chromium, live_server, client, owner, tmp_path):
    """camera(picture) -> a page of the owner on a phone that sees this picture."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")

    @contextmanager
    def opened(picture):
        seen = film(tmp_path / "camera.mjpeg", picture)
        with camera_browser(chromium.browser_type, found, seen) as browser:
            context = browser.new_context(**PHONE, base_url=live_server.url)
            sign_in(context, live_server, client, owner)
            page = context.new_page()
            faults = faults_of(page)
            yield page
            assert faults == []

    return opened


def check_in(page, code):
    page.get_by_label("Tag").fill(code)
    page.get_by_role("button", name="Check in").click()


def open_and_go_off(page, charge):
    """The charge opened with reception at the office, then none at the kiln."""
    page.goto("/")
    settle(page)
    page.goto(f"/charges/{charge.pk}/loading/")
    out_of_reach(page)
    page.goto(f"/charges/{charge.pk}/loading/")
    expect(page.get_by_text(f"0 of {charge.stacks.count()} in")).to_be_visible()


def test_a_charge_is_loaded_by_camera_and_typed_codes_and_all_arrives_once(camera, accessible, keep_picture, owner):
    need_poppler()
    printed = printed_tags(1, label_printer(148, 105, 2))[0]
    plain, retagged, boarded, tapped = (ready_stack() for _ in range(4))
    old = retagged.code
    replace(stack=retagged, by=owner, at=timezone.now())
    board = BoardFactory(stack=boarded, code=printed.code)
    charge = charge_of(plain, retagged, boarded, tapped)
    stranger = ready_stack()
    charge_of(stranger, kiln=KilnFactory(place__name="Long kiln"))
    with camera(frame(VIEWS["clean"](printed))) as page:
        open_and_go_off(page, charge)
        check_in(page, stranger.code)
        expect(page.get_by_text("is of another charge: Long kiln")).to_be_visible()
        assert kept(page)["outbox"] == []
        check_in(page, plain.code)
        expect(page.get_by_text("1 of 4 in")).to_be_visible()
        check_in(page, old.lower())
        expect(page.get_by_text("2 of 4 in")).to_be_visible()
        page.get_by_role("button", name="Scan with the camera").click()
        expect(page.get_by_text("3 of 4 in")).to_be_visible()
        expect(page.get_by_text(f"by the tag {shown(board.code)}")).to_be_visible()
        page.get_by_role("button", name=f"In {shown(tapped.code)}").click()
        expect(page.get_by_text("4 of 4 in")).to_be_visible()
        accessible(page)
        keep_picture(page, "loading-afield")
        assert {one["subject"] for one in kept(page)["outbox"]} == {item.stack.code for item in charge.stacks.all()}
        assert charge.stacks.filter(loaded_at=None).count() == 4
        back_in_reach(page)
    assert charge.stacks.filter(loaded_at=None).count() == 0
    assert Receipt.objects.filter(path=f"/charges/{charge.pk}/loading/").count() == 4
    for stack in (plain, retagged, boarded, tapped):
        assert stack.stays.filter(place=charge.kiln.place).count() == 1


def test_tags_that_lead_to_no_stack_are_told_and_nothing_is_kept(camera):
    charge = charge_of(ready_stack(), ready_stack())
    blank, outside = Tag.objects.create(), ready_stack()
    lone = BoardFactory(stack=outside)
    with camera(frame(VIEWS["clean"](printed_tags(1, label_printer(148, 105, 2))[0]))) as page:
        open_and_go_off(page, charge)
        for code, said in {
            "ABC": "That is no tag's code",
            blank.code: "knows no stack by this tag",
            outside.code: f"{shown(outside.code)} is not in this charge",
            lone.code: f"{shown(outside.code)} is not in this charge",
        }.items():
            check_in(page, code)
            expect(page.get_by_text(said)).to_be_visible()
        assert kept(page)["outbox"] == []


def test_the_page_of_a_board_checks_its_stack_in_while_its_charge_is_in_hand(camera):
    board = BoardFactory(stack=ready_stack())
    charge = charge_of(board.stack, ready_stack())
    with camera(frame(VIEWS["clean"](printed_tags(1, label_printer(148, 105, 2))[0]))) as page:
        open_and_go_off(page, charge)
        page.goto(f"/t/{board.code}")
        page.get_by_role("button", name="Check this stack in").click()
        expect(page.get_by_text("1 of 2 in")).to_be_visible()
        back_in_reach(page)
    assert charge.stacks.get(stack=board.stack).loaded_at
