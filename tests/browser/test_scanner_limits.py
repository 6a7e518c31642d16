"""What the scanner says where a part of it is missing, and where else it stands."""

import pytest
from django.utils import timezone

from config.templatetags import scanner
from kilnruns.actions import charges, starting
from tests.browser.cameras import VIEWS, frame
from tests.browser.test_scanning import open_camera, start, tags
from tests.kilnruns.factories import charge_of, ready_stack
from yard.models import Tag

__all__ = ["open_camera", "tags"]

# The fake camera has no light: this one says that it has, and fails to switch it, as phones do that are hot or low.
BROKEN_LIGHT = """() => {
  MediaStreamTrack.prototype.getCapabilities = () => ({ torch: true });
  MediaStreamTrack.prototype.applyConstraints = () => Promise.reject(new DOMException("hot", "OperationError"));
}"""


def test_a_light_that_does_not_go_on_is_told_and_the_camera_goes_on(open_camera, tags):
    with open_camera(frame(VIEWS["clean"](tags[0])[:40, :40])) as page:
        page.evaluate(BROKEN_LIGHT)
        start(page)
        page.get_by_text("Hold the tag in the frame.").wait_for()
        light = page.get_by_role("button", name="Light")
        light.click()
        page.get_by_text("The light could not be switched. The camera goes on without it.").wait_for()
        assert light.get_attribute("aria-pressed") == "false"
        assert page.get_by_role("button", name="Stop the camera").is_visible()


def test_without_the_decoder_that_is_said_before_the_camera_is_asked_for(signed_in, monkeypatch, accessible):
    if signed_in.evaluate("'BarcodeDetector' in window"):
        pytest.skip("this browser reads tags by itself")
    monkeypatch.setattr(scanner, "DECODER", "vendor/qr/never-fetched.js")
    signed_in.goto("/scan/")
    signed_in.get_by_text("What reads tags off the camera can't be loaded here. Use the phone's own").wait_for()
    assert signed_in.get_by_role("button", name="Scan with the camera").count() == 0
    accessible(signed_in)


def running(charge):
    for item in charge.stacks.all():
        charges.load(charge=charge, stack=item.stack, by=None, at=timezone.now())
    starting.start(charge=charge, by=None, at=timezone.now())


def test_in_unloading_a_hit_checks_the_stack_out(open_camera, tags, accessible, keep_picture):
    stack = ready_stack()
    Tag.objects.filter(stack=stack).update(code=tags[0].code)
    charge = charge_of(stack, ready_stack())
    running(charge)
    with open_camera(frame(VIEWS["clean"](tags[0])), path=f"/charges/{charge.pk}/unloading/") as page:
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            keep_picture(page, f"unloading-{scheme}")
        accessible(page)
        page.locator("input[name=place]").first.check()
        start(page)
        page.get_by_text("1 of 2 out").wait_for()
    assert charge.stacks.get(stack=stack).unloaded_at


def test_a_scanner_that_comes_later_is_started_by_hand(signed_in):
    signed_in.goto("/scan/")
    scanners = signed_in.evaluate("""async () => {
      const copy = document.querySelector("[data-scanner]").cloneNode(true);
      copy.querySelector("[data-start]").hidden = true;
      const later = document.createElement("div");
      later.append(copy);
      document.querySelector("main").append(later);
      const { start } = await import(document.querySelector('script[src*="/scan."]').src);
      start(later);
      return copy.querySelector("[data-start]").hidden;
    }""")
    assert scanners is False
