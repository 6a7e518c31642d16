"""A charge loaded by its tags where there is no reception: each stack checked off once, whichever tag was read."""

from contextlib import contextmanager
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from tests.browser.cameras import VIEWS, camera_browser, film, frame
from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.browser.signing_in import sign_in as sign_in_by_form
from tests.browser.test_offline_recording import back_in_reach
from tests.chromium import PHONE, needed
from tests.factories import BoardFactory, UserFactory
from tests.kilnruns.factories import KilnFactory, charge_of, ready_stack
from tests.yard.spoiled import need_poppler, printed_tags
from yard.actions.tags import replace
from yard.labels import label_printer
from yard.models import Receipt, Tag
from yard.models.tagcode import shown

pytestmark = pytest.mark.service_worker


@pytest.fixture
def camera(chromium, live_server, client, owner, tmp_path):
    """camera(picture) -> a page of the owner on a phone that sees this picture."""
    found = needed(whole=True)

    @contextmanager
    def opened(picture):
        seen = film(tmp_path / "camera.mjpeg", picture)
        with camera_browser(chromium.browser_type, found, seen) as browser:
            context = browser.new_context(**PHONE, base_url=live_server.url)
            keep_signed_in(context, owner, client, live_server.url)
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


DRAWINGS = """async () => {
  const { drawings } = await import("/static/js/drawings.js");
  return Object.keys(await drawings());
}"""


@pytest.fixture
def phone_of(phone_context):
    """phone_of(user) -> a page of theirs on the one phone, signed in as people do; its faults are looked at."""
    faults = []

    def signed_in(user):
        page = phone_context.new_page()
        faults.append(faults_of(page))
        sign_in_by_form(page, user)
        return page

    yield signed_in
    assert [fault for page in faults for fault in page] == []


def drawings_kept(page, *charges):
    """Wait until just these charges' drawings are on the phone."""
    settle(page)
    wanted = sorted(str(charge.pk) for charge in charges)
    for _turn in range(100):
        if sorted(page.evaluate(DRAWINGS)) == wanted:
            return
        page.wait_for_timeout(100)
    raise AssertionError((page.evaluate(DRAWINGS), wanted))


def test_the_drawing_is_read_beside_the_kiln_without_reception_and_says_its_age(
    phone_of, owner, accessible, keep_picture
):
    stacks = [ready_stack(), ready_stack()]
    charge = charge_of(*stacks)
    later = charge_of(ready_stack(), kiln=KilnFactory(), start_on=timezone.localdate() + timedelta(days=30))
    page = phone_of(owner)
    drawings_kept(page, charge)
    out_of_reach(page)
    page.goto(f"/charges/{charge.pk}/loading/")
    page.get_by_role("link", name="Where each piece goes").click()
    expect(page.get_by_text("This drawing is of")).to_be_visible()
    expect(page.get_by_text("Bottom layers first")).to_be_visible()
    layers = page.locator("#layers svg.drawing")
    assert layers.count() > 0 and layers.first.is_visible()
    assert page.locator("#hatch-0").count() == 1, "the patterns that the drawing names came with it"
    for stack in stacks:
        expect(page.get_by_text(shown(stack.code)).first).to_be_visible()
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        keep_picture(page, f"drawing-afield-{scheme}")
    accessible(page)
    page.get_by_role("link", name="To the loading").click()
    expect(page.get_by_text("0 of 2 in")).to_be_visible()
    page.goto(f"/charges/{later.pk}/drawing/")
    expect(page.locator("h1")).to_have_text("This page needs reception")


def test_a_drawing_goes_when_its_reader_signs_out_and_is_never_another_s(phone_of, owner):
    charge = charge_of(ready_stack())
    page = phone_of(owner)
    drawings_kept(page, charge)
    page.locator(".who summary").click()
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/**")
    assert page.evaluate(DRAWINGS) == []
    out_of_reach(page)
    page.goto(f"/charges/{charge.pk}/drawing/")
    expect(page.locator("h1")).to_have_text("No copy of the yard yet")
    assert page.locator("[data-drawing] svg").count() == 0
    page.context.set_offline(False)
    other = phone_of(UserFactory(username="other"))
    drawings_kept(other, charge)


def test_a_drawing_is_fetched_anew_when_the_charge_names_another_tag(phone_of, owner):
    stack = ready_stack()
    charge = charge_of(stack)
    page = phone_of(owner)
    drawings_kept(page, charge)
    new = replace(stack=stack, by=owner, at=timezone.now())
    page.evaluate("""() => new Promise((done) => {
      const request = indexedDB.open("drystack");
      request.onsuccess = () => {
        const write = request.result.transaction(["meta"], "readwrite");
        const meta = write.objectStore("meta");
        meta.get("copy").onsuccess = ({ target }) => meta.put({ ...target.result, fetchedAt: 0 }, "copy");
        write.oncomplete = () => { request.result.close(); done(); };
      };
    })""")
    page.goto("/")
    for _turn in range(100):
        html = page.evaluate("""async () => Object.values(
          await (await import("/static/js/drawings.js")).drawings()).map(({ html }) => html).join()""")
        if shown(new.code) in html:
            return
        page.wait_for_timeout(100)
    raise AssertionError("the old drawing stayed")
