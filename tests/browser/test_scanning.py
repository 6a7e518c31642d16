"""The camera on the Scan page and in loading: fake cameras that show printed tags, or no camera at all."""

import random
import re
from contextlib import contextmanager

import pytest
from django.utils import timezone
from stdnum.iso7064 import mod_37_2

from config.vendoring import ROOT, up_to_date
from tests.browser.cameras import VIEWS, camera_browser, film, frame
from tests.browser.signing_in import keep_signed_in
from tests.chromium import PHONE, needed
from tests.conftest import skip_or_fail
from tests.factories import PlaceFactory, TagFactory
from tests.kilnruns.factories import charge_of, ready_stack
from tests.yard.spoiled import need_poppler, printed_tags
from yard.labels import label_printer
from yard.models import Tag
from yard.models.tagcode import ALPHABET, TagCodeError, check

OTHER_WAYS = "own camera app, a photo, or type the code"


@pytest.fixture(scope="module")
def tags():
    need_poppler()
    if not up_to_date(ROOT / "static" / "vendor"):
        skip_or_fail("needs the decoder; python3 manage.py vendor fetches it")
    return printed_tags(2, label_printer(148, 105, 2))


@pytest.fixture
def open_camera(chromium, live_server, client, owner, tmp_path):
    """open_camera(picture, allowed=True, secure=True) -> a page of the owner, in a browser with that camera."""
    found = needed(whole=True)

    @contextmanager
    def open_page(*pictures, path="/scan/", allowed=True):
        shown = film(tmp_path / "camera.mjpeg", *pictures)
        with camera_browser(chromium.browser_type, found, shown, allowed=allowed) as browser:
            context = browser.new_context(**PHONE, base_url=live_server.url)
            keep_signed_in(context, owner, client, live_server.url)
            page = context.new_page()
            page.faults = []
            page.on("pageerror", lambda error: page.faults.append(str(error)))
            page.on("console", lambda line: page.faults.append(line.text) if line.type == "error" else None)
            page.goto(path)
            yield page
            assert page.faults == []

    return open_page


def start(page):
    page.get_by_role("button", name="Scan with the camera").click()


@pytest.mark.parametrize("view", VIEWS)
def test_a_tag_before_the_camera_opens_its_page(open_camera, tags, view):
    TagFactory(code=tags[0].code)
    with open_camera(frame(VIEWS[view](tags[0]))) as page:
        start(page)
        page.wait_for_url(re.compile(tags[0].code), timeout=8000)


def test_two_tags_in_view_are_offered_as_a_choice(open_camera, tags, accessible, keep_picture):
    for tag in tags:
        TagFactory(code=tag.code)
    with open_camera(frame(*(VIEWS["clean"](tag) for tag in tags))) as page:
        start(page)
        page.get_by_role("heading", name="Which tag?").wait_for()
        assert page.locator("[data-choice] button").count() == 2
        accessible(page)
        keep_picture(page, "scan-choice")
        page.locator("[data-choice] button", has_text=tags[1].code[:3]).click()
        page.wait_for_url(re.compile(tags[1].code), timeout=8000)


def test_the_camera_aims_and_stops_on_a_tap(open_camera, tags, accessible, keep_picture):
    with open_camera(frame(VIEWS["clean"](tags[0])[:40, :40])) as page:
        decoders = []
        page.on("request", lambda request: decoders.append(request.url) if "vendor" in request.url else None)
        page.reload()
        page.wait_for_load_state("networkidle")
        assert decoders == [], "the decoder is loaded with the camera only"
        start(page)
        page.get_by_text("Hold the tag in the frame.").wait_for()
        assert page.get_by_role("button", name="Light").is_hidden(), "this camera has no light"
        accessible(page)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            keep_picture(page, f"scan-camera-{scheme}")
        track = page.evaluate_handle("document.querySelector('video').srcObject.getTracks()[0]")
        page.get_by_role("button", name="Stop the camera").click()
        assert track.evaluate("track => track.readyState") == "ended"
        assert page.get_by_role("button", name="Scan with the camera").is_visible()
        assert any("decode" in url for url in decoders)


def test_a_refused_camera_is_said_and_the_other_ways_stay(open_camera, tags, keep_picture, accessible):
    with open_camera(frame(VIEWS["clean"](tags[0])), allowed=False) as page:
        start(page)
        page.get_by_text(f"The camera was not allowed. Allow it in the browser's settings for this site; or use the "
                         f"phone's {OTHER_WAYS}").wait_for()  # fmt: skip
        assert (
            page.get_by_label("Code under the tag").is_visible() and page.get_by_label("Photo of the tag").is_visible()
        )
        accessible(page)
        keep_picture(page, "scan-refused")


def test_without_a_camera_that_is_said(signed_in, tags):
    signed_in.goto("/scan/")
    start(signed_in)
    signed_in.get_by_text(f"No camera is found here. Use the phone's {OTHER_WAYS}").wait_for()


def test_over_plain_http_the_reason_is_said_at_once(signed_in):
    # Browsers leave mediaDevices out on plain http; this machine's own address counts as secure, so it is taken away.
    signed_in.add_init_script("""Object.defineProperty(navigator, "mediaDevices", { value: undefined });
      Object.defineProperty(window, "isSecureContext", { value: false });""")
    signed_in.goto("/scan/")
    signed_in.get_by_text(f"this address is plain http. Use the phone's {OTHER_WAYS}").wait_for()
    assert signed_in.get_by_role("button", name="Scan with the camera").count() == 0


def test_in_loading_a_hit_checks_the_stack_in(open_camera, tags):
    stack = ready_stack()
    Tag.objects.filter(stack=stack).update(code=tags[0].code)
    charge = charge_of(stack, ready_stack())
    with open_camera(frame(VIEWS["clean"](tags[0])), path=f"/charges/{charge.pk}/loading/") as page:
        start(page)
        page.get_by_text("1 of 2 in").wait_for()
    assert charge.stacks.get(stack=stack).loaded_at


@pytest.mark.parametrize("way", ["loading", "unloading"])
def test_the_camera_comes_back_by_itself_until_all_are_in_or_out(open_camera, tags, way):
    """One tap: a tag after the other comes into view, and each is taken once."""
    charge = charge_of(ready_stack(), ready_stack(), ready_stack())
    items = list(charge.stacks.all())
    for item, tag in zip(items, tags, strict=False):
        Tag.objects.filter(stack=item.stack).update(code=tag.code)
    if way == "unloading":
        PlaceFactory(kind="closed_store")
        charge.stacks.update(loaded_at=timezone.now())
        charge.started_at = timezone.now()
        charge.save()
    views = [frame(VIEWS["clean"](tag)) for tag in tags]
    with open_camera(*views, path=f"/charges/{charge.pk}/{way}/") as page:
        start(page)
        page.get_by_text(f"2 of 3 {'in' if way == 'loading' else 'out'}").wait_for(timeout=20_000)
        page.get_by_text("Hold the tag in the frame.").wait_for()
        page.wait_for_timeout(2500)  # both tags come by again and are passed over
        assert page.get_by_text("already").count() == 0
        page.get_by_role("button", name="Stop the camera").click()
        page.reload()
        page.wait_for_load_state("networkidle")
        assert page.get_by_role("button", name="Scan with the camera").is_visible(), "stopped stays stopped"


def test_the_browser_and_the_server_agree_on_codes(signed_in):
    chance = random.Random(7)
    texts = ["".join(chance.choices(ALPHABET, k=10)) for _ in range(300)]
    bodies = ["".join(chance.choices(ALPHABET, k=9)) for _ in range(300)]
    texts += [body + mod_37_2.calc_check_digit(body) for body in bodies]
    texts += [f" https://yard.example/t/{text[:4].lower()}-{text[4:]}?x=1" for text in texts[300:400]]
    texts += ["", "0", "ABC DEF", "/T/", *(text[:9] for text in texts[300:310])]
    found = signed_in.evaluate(
        "async (texts) => { const tags = await import('/static/js/tagcode.js'); return texts.map(tags.check); }", texts
    )
    wanted = [checked(text) for text in texts]
    assert sum(code is not None for code in wanted) > 300
    assert found == wanted


def checked(text):
    try:
        return check(text)
    except TagCodeError:
        return None
