"""Photos are made small on the phone, lose where they were taken, and go after the figures."""

import base64
from io import BytesIO

import pytest
from PIL import Image
from playwright.sync_api import expect

from tests.browser.outbox_pages import all_gone, in_store
from tests.factories import PlaceFactory, SpeciesFactory, StackFactory, TagFactory
from yard.models import Stack

GPS, ORIENTATION, TURNED = 0x8825, 0x0112, 6
BYTES = """async () => {
  const { all } = await import("/static/js/db.js");
  const record = (await all("outbox")).find((one) => one.files.length);
  const reader = new FileReader();
  const read = new Promise((resolve) => (reader.onload = resolve));
  reader.readAsDataURL(new Blob([record.files[0].bytes]));
  await read;
  return reader.result.split(",")[1];
}"""


def big_photo():
    """3000 x 1500 as the sensor lies, to be shown upright; with the place where it was taken."""
    exif = Image.Exif()
    exif[ORIENTATION] = TURNED
    exif[GPS] = {1: "N", 2: (51.0, 30.0, 0.0), 3: "E", 4: (7.0, 0.0, 0.0)}
    file = BytesIO()
    Image.effect_noise((3000, 1500), 40).convert("RGB").save(file, "JPEG", quality=90, exif=exif)
    return file.getvalue()


@pytest.fixture
def blank(live_server):
    StackFactory(species=SpeciesFactory(name="Testwood"), place=PlaceFactory(name="Long shed"))
    return TagFactory()


def choose(page, content, name="photo.jpg"):
    page.locator("input[type=file]").set_input_files({"name": name, "mimeType": "image/jpeg", "buffer": content})


def test_a_new_stack_with_a_photo_becomes_two_records_and_the_photo_goes_last(visit, blank, losses):
    page = visit()
    page.goto(f"/T/{blank.code}")
    page.get_by_label("Line 1, length").fill("4")
    page.get_by_label("Line 1, width").fill("150")
    page.get_by_label("Line 1, boards").fill("30")
    original = big_photo()
    choose(page, original)
    page.context.set_offline(True)
    page.get_by_role("button", name="Keep this stack").click()
    page.get_by_text("It is sent when there is reception").wait_for()
    stack, photo = in_store(page)
    if stack["files"]:
        stack, photo = photo, stack
    assert photo["after"] == stack["key"]
    assert stack["subject"] == photo["subject"] == blank.code
    kept = base64.b64decode(page.evaluate(BYTES))
    assert len(kept) < len(original)
    with Image.open(BytesIO(kept)) as small:
        assert small.size == (800, 1600)  # upright, the longer side 1600
        assert dict(small.getexif()) == {}
    page.context.set_offline(False)
    all_gone(page)
    assert losses.sent == [stack["key"], photo["key"]]
    assert losses.headers[1]["X-Drystack-After"] == stack["key"]
    made = Stack.objects.get(code=blank.code)
    assert made.board_count == 30
    assert made.photos.count() == 1


def test_a_small_photo_is_not_made_larger(visit, blank):
    page = visit()
    page.goto(f"/stacks/{Stack.objects.get().code}/photos/")
    file = BytesIO()
    Image.new("RGB", (300, 200), "tan").save(file, "JPEG")
    choose(page, file.getvalue())
    page.context.set_offline(True)
    page.get_by_role("button", name="Add the photo").click()
    page.get_by_text("It is sent when there is reception").wait_for()
    with Image.open(BytesIO(base64.b64decode(page.evaluate(BYTES)))) as kept:
        assert kept.size == (300, 200)
    page.context.set_offline(False)
    all_gone(page)
    assert Stack.objects.get().photos.count() == 1


def test_what_the_phone_cannot_read_goes_as_it_is_and_the_server_says_why_not(visit, blank):
    page = visit()
    page.goto(f"/stacks/{Stack.objects.get().code}/photos/")
    choose(page, b"no picture at all")
    page.context.set_offline(True)
    page.get_by_role("button", name="Add the photo").click()
    page.get_by_text("It is sent when there is reception").wait_for()
    assert base64.b64decode(page.evaluate(BYTES)) == b"no picture at all"
    page.context.set_offline(False)
    page.get_by_role("link", name="1 not accepted").wait_for()
    [record] = in_store(page)
    assert record["errors"]["photo"]
    page.goto("/waiting/")
    page.get_by_role("button", name="Send it again").click()
    expect(page.get_by_text("tried 2 times")).to_be_visible()
    page.get_by_text("Discard", exact=True).click()
    page.get_by_role("button", name="Discard it for good").click()
    expect(page.get_by_text("Nothing waits.")).to_be_visible()
