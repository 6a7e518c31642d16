"""Recorded standing at a stack, on pages that the phone draws without reception; it arrives once when there is some."""

import io

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser.cameras import VIEWS, camera_browser, film, frame
from tests.browser.offline import faults_of, kept, out_of_reach, settle
from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE, needed
from tests.factories import BoardFactory, PlaceFactory, SpeciesFactory, TagFactory
from tests.kilnruns.factories import charge_of, ready_stack
from tests.yard.spoiled import need_poppler, printed_tags
from yard.labels import label_printer
from yard.models import Event, Photo, Reading, SampleBoard, Stack, Tag
from yard.models.tagcode import shown

pytestmark = pytest.mark.service_worker


@pytest.fixture
def afield(phone_context, live_server, client, owner):
    """afield() -> a page of the owner, once opened with reception, now without."""
    pages = []

    def go():
        page = phone_context.new_page()
        faults = faults_of(page)
        pages.append(faults)
        keep_signed_in(phone_context, owner, client, live_server.url)
        page.goto("/")
        settle(page)
        out_of_reach(page)
        return page

    yield go
    assert [fault for faults in pages for fault in faults] == []


def scan(page, code):
    """By the typed code, as one does where the camera is of no use."""
    page.goto("/scan/")
    page.get_by_label("Code under the tag").fill(code)
    page.get_by_role("button", name="Open").click()
    page.wait_for_url(lambda url: code in url)
    page.locator("[data-drawn] > :not(noscript)").first.wait_for(state="attached")


def keep(page, button, code):
    """Tap it; the phone says that it is kept, and shows the stack's page."""
    page.get_by_role("button", name=button).click()
    page.wait_for_url(f"**/stacks/{code}/")
    expect(page.get_by_text("Kept on this phone. It is sent when there is reception.")).to_be_visible()


def back_in_reach(page, *, waiting=0):
    """Reception again; what waits goes by itself on the next page that is opened."""
    page.context.set_offline(False)
    page.goto("/waiting/")
    for _turn in range(150):
        if len(kept(page)["outbox"]) == waiting:
            return
        page.wait_for_timeout(100)
    raise AssertionError(kept(page)["outbox"])


def waits(page):
    return page.locator("h2", has_text="Waiting to be sent").locator("+ ul li")


def test_a_reading_is_taken_by_the_typed_code_and_arrives_once(afield, keep_picture, accessible):
    stack = ready_stack()
    page = afield()
    scan(page, stack.code)
    page.get_by_role("link", name="Record a reading").click()
    expect(page.get_by_text("expected 13.0 to 15.0")).to_be_visible()
    for key in "1", "4", "decimal", "2", "next", "1", "5":
        page.locator(f'[data-key="{key}"]').click()
    keep(page, "Keep", stack.code)
    expect(waits(page)).to_have_count(1)
    assert "14.2 15" in waits(page).inner_text()
    assert page.locator("[data-waiting-count]").inner_text() == "1 waiting"
    accessible(page)
    keep_picture(page, "offline-kept")
    assert Reading.objects.count() == 0
    back_in_reach(page)
    assert Reading.objects.get().raw == [14.2, 15.0]
    assert Event.objects.get(kind="read").stack == stack


@pytest.mark.parametrize(
    ("method", "typed", "raw"),
    [
        ("capacitance", {"#id_values": "12 13,5"}, [12.0, 13.5]),
        ("oven_dry", {"#id_wet_1": "120.5", "#id_dry_1": "100"}, [[120.5, 100.0]]),
        ("sample_board", {"[name^=mass]": "580"}, [580.0]),
    ],
)
def test_each_method_of_reading_works(afield, method, typed, raw):
    stack = ready_stack()
    SampleBoard.objects.create(stack=stack, label="A", green_mass_g=900, oven_dry_mass_g=500, made_on="2025-05-01")
    page = afield()
    page.goto(f"/stacks/{stack.code}/readings/new/?method={method}")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Nothing is filled in yet.")).to_be_visible()
    for field, value in typed.items():
        page.locator(field).fill(value)
    keep(page, "Keep", stack.code)
    back_in_reach(page)
    assert Reading.objects.get().raw == raw


def test_a_board_s_reading_is_of_that_board(afield):
    board = BoardFactory()
    page = afield()
    scan(page, board.code)
    page.get_by_role("link", name="Record a reading of this board").click()
    page.locator("#id_values").fill("11")
    keep(page, "Keep", board.stack.code)
    back_in_reach(page)
    assert Reading.objects.get().board == board


def test_a_new_stack_on_a_blank_tag_is_found_by_its_tag_and_read(afield, keep_picture, accessible):
    species, place, tag = SpeciesFactory(name="ash"), PlaceFactory(name="Barn"), TagFactory()
    PlaceFactory(name="Loft")
    page = afield()
    scan(page, tag.code)
    assert page.url.endswith(f"/stacks/new/?tag={tag.code}")
    page.get_by_role("button", name="Keep this stack").click()
    expect(page.get_by_text("Still missing: Species.")).to_be_visible()
    page.get_by_label("Species").select_option(label="ash")
    page.get_by_label("Thickness").fill("27")
    page.get_by_label("Barn").check()
    page.get_by_role("button", name="Keep this stack").click()
    expect(page.get_by_text("No boards yet")).to_be_visible()
    page.get_by_role("button", name="Add lines").click()
    for name, value in {"line-0-length": "4", "line-0-width": "150", "line-0-count": "12"}.items():
        page.locator(f"[name={name}]").fill(value)
    for name, value in {"line-7-length": "3", "line-7-width": "200", "line-7-count": "5"}.items():
        page.locator(f"[name={name}]").fill(value)
    keep(page, "Keep this stack", tag.code)
    scan(page, tag.code)
    expect(page.locator("h1")).to_have_text("Ash 27\u202fmm")
    expect(page.get_by_text("its forecast follows then")).to_be_visible()
    accessible(page)
    keep_picture(page, "offline-new-stack")
    page.get_by_role("link", name="Record a reading").click()
    page.locator("#id_values").fill("55")
    keep(page, "Keep", tag.code)
    expect(waits(page)).to_have_count(2)
    back_in_reach(page)
    stack = Stack.objects.get()
    assert (stack.code, stack.species, stack.place) == (tag.code, species, place)
    assert sorted(stack.lines.values_list("length_mm", "width_mm", "count")) == [(3000, 200, 5), (4000, 150, 12)]
    assert stack.readings.get().raw == [55.0]


def test_what_was_typed_at_the_last_stack_is_offered_at_the_next(afield):
    stack, other = ready_stack(), ready_stack()
    PlaceFactory(name="Barn")
    tags = [TagFactory(), TagFactory()]
    page = afield()
    page.goto(f"/stacks/{stack.code}/readings/new/?method=pins")
    page.locator("#id_values").fill("14")
    page.get_by_label("Wood temperature").fill("7")
    keep(page, "Keep", stack.code)
    page.goto(f"/stacks/{other.code}/readings/new/")
    expect(page.get_by_label("Wood temperature")).to_have_value("7")
    page.goto(f"/stacks/new/?tag={tags[0].code}")
    page.get_by_label("Species").select_option(str(other.species.pk))
    page.get_by_label("Thickness").fill("41")
    page.get_by_label("Barn").check()
    page.locator("[name=line-0-length]").fill("4")
    page.locator("[name=line-0-width]").fill("150")
    page.locator("[name=line-0-count]").fill("3")
    keep(page, "Keep this stack", tags[0].code)
    page.goto(f"/stacks/new/?tag={tags[1].code}")
    expect(page.get_by_label("Thickness")).to_have_value("41")
    expect(page.get_by_label("Species")).to_have_value(str(other.species.pk))
    expect(page.get_by_label("Barn")).to_be_checked()
    assert page.locator("[name=line-0-length]").input_value() == ""


def test_a_move_a_note_and_a_photo(afield, tmp_path):
    stack, place = ready_stack(), PlaceFactory(name="Barn")
    page = afield()
    scan(page, stack.code)
    page.get_by_role("link", name="Move", exact=True).click()
    keep(page, "Barn", stack.code)
    page.get_by_role("link", name="Note", exact=True).click()
    page.get_by_label("Note").fill("A crooked one\non top")
    keep(page, "Keep this note", stack.code)
    page.get_by_role("link", name="Photo", exact=True).click()
    page.get_by_role("button", name="Add the photo").click()
    expect(page.get_by_text("Nothing is filled in yet.")).to_be_visible()
    page.get_by_label("Photo").set_input_files({"name": "s.png", "mimeType": "image/png", "buffer": picture()})
    keep(page, "Add the photo", stack.code)
    expect(waits(page)).to_have_count(3)
    back_in_reach(page)
    stack.refresh_from_db()
    assert stack.place == place
    assert Event.objects.get(kind="noted").details["text"].splitlines() == ["A crooked one", "on top"]
    assert Photo.objects.get().stack == stack
    page.goto("/")
    for _turn in range(100):
        row = kept(page)["stacks"][0]
        if row["place"] == place.pk and "notes" in row:
            break
        page.wait_for_timeout(100)
    out_of_reach(page)
    page.goto(f"/stacks/{stack.code}/")
    expect(page.get_by_text("A crooked one")).to_be_visible()


def picture():
    data = io.BytesIO()
    Image.new("RGB", (1200, 900), "tan").save(data, "PNG")
    return data.getvalue()


def test_a_tag_that_the_copy_does_not_know_can_be_recorded_about(afield):
    page = afield()
    stack = ready_stack()  # tagged by another phone meanwhile
    scan(page, stack.code)
    expect(page.locator("h1")).to_have_text("No such tag in the copy")
    page.get_by_role("link", name="Record a reading").click()
    page.locator("#id_values").fill("15")
    page.get_by_role("button", name="Keep").click()
    page.wait_for_url(f"**/stacks/{stack.code}/")
    back_in_reach(page)
    assert Reading.objects.get().stack == stack


def test_stacks_are_checked_in_and_one_is_taken_back(afield, keep_picture, accessible):
    stacks = [ready_stack(), ready_stack()]
    charge = charge_of(*stacks)
    other = ready_stack()
    page = afield()
    page.goto("/")
    page.get_by_role("link", name="Load", exact=True).click()
    expect(page.get_by_text("0 of 2 in")).to_be_visible()
    page.get_by_label("Tag").fill(other.code)
    page.get_by_role("button", name="Check in").click()
    expect(page.get_by_text("is not in this charge. Leave it out.")).to_be_visible()
    page.get_by_label("Tag").fill(shown(stacks[0].code).lower())
    page.get_by_role("button", name="Check in").click()
    expect(page.get_by_text("1 of 2 in")).to_be_visible()
    page.get_by_role("button", name=f"In {shown(stacks[1].code)}").click()
    expect(page.get_by_text("2 of 2 in")).to_be_visible()
    expect(page.locator(".checks .badge", has_text="waiting")).to_have_count(2)
    accessible(page)
    keep_picture(page, "offline-loading")
    page.get_by_role("button", name=f"Take back {shown(stacks[1].code)}").click()
    expect(page.get_by_text("1 of 2 in")).to_be_visible()
    back_in_reach(page)
    assert [item.loaded_at is not None for item in charge.stacks.order_by("pk")] == [True, False]


def test_a_scanned_stack_of_the_charge_in_hand_is_checked_in_from_its_page(afield):
    stack = ready_stack()
    charge = charge_of(stack, ready_stack())
    page = afield()
    scan(page, stack.code)
    page.get_by_role("button", name="Check this stack in").click()
    expect(page.get_by_text("1 of 2 in")).to_be_visible()
    back_in_reach(page)
    assert charge.stacks.get(stack=stack).loaded_at


def test_stacks_are_checked_out_to_the_dry_store(afield):
    store = PlaceFactory(name="Dry store", kind="closed_store")
    stacks = [ready_stack(), ready_stack()]
    charge = charge_of(*stacks, started_at="2026-05-01T08:00Z")
    charge.stacks.update(loaded_at="2026-05-01T07:00Z")
    Stack.objects.filter(pk__in=[stack.pk for stack in stacks]).update(place=charge.kiln.place)
    page = afield()
    page.goto(f"/charges/{charge.pk}/unloading/")
    page.get_by_role("button", name="Check out").click()
    expect(page.get_by_text("That is no tag's code")).to_be_visible()
    page.get_by_role("button", name=f"Out {shown(stacks[0].code)}").click()
    expect(page.get_by_text("1 of 2 out")).to_be_visible()
    page.get_by_label("Tag").fill(stacks[1].code)
    page.get_by_role("button", name="Check out").click()
    expect(page.get_by_text("2 of 2 out")).to_be_visible()
    assert {record["subject"] for record in kept(page)["outbox"]} == {stack.code for stack in stacks}
    back_in_reach(page)
    stacks[0].refresh_from_db()
    assert stacks[0].place == store
    assert charge.stacks.filter(unloaded_at=None).count() == 0


def test_the_camera_finds_a_stack_in_the_copy(chromium, live_server, client, owner, tmp_path):
    need_poppler()
    printed = printed_tags(1, label_printer(148, 105, 2))[0]
    stack = ready_stack()
    Tag.objects.filter(stack=stack).update(code=printed.code)
    Stack.objects.filter(pk=stack.pk).update(code=printed.code)
    shown_film = film(tmp_path / "camera.mjpeg", frame(VIEWS["clean"](printed)))
    found = needed(whole=True)
    with camera_browser(chromium.browser_type, found, shown_film) as browser:
        context = browser.new_context(**PHONE, base_url=live_server.url)
        keep_signed_in(context, owner, client, live_server.url)
        page = context.new_page()
        faults = faults_of(page)
        page.goto("/")
        settle(page)
        out_of_reach(page)
        page.goto("/scan/")
        page.get_by_role("button", name="Scan with the camera").click()
        page.wait_for_url(f"**/stacks/{printed.code}/", timeout=10_000)
        expect(page.locator("h1")).to_contain_text("27")
        assert faults == []
