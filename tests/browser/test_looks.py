"""One page in the looks that differ most: type twice as large, full sun, forced colours. `manage.py bench looks` walks
them all."""

from collections.abc import Callable
from typing import Any

from playwright.sync_api import Browser, Page

from config.look import COOKIE, SUN
from tests.browser.looks import LARGE, OFF_SCREEN
from tests.chromium import PHONE
from tests.kilnruns.factories import propose

SIZES = {"fontSizes": {"standard": LARGE, "fixed": LARGE - 6}}
CONTRAST = "() => [...document.querySelectorAll('main, .note, .act')].map(one => getComputedStyle(one).color)"

BUTTON = """() => {
  const style = getComputedStyle(document.querySelector(".acts .act"));
  return [style.color, style.backgroundColor];
}"""


def test_type_twice_as_large_fits_and_nothing_lies_over_it(signed_in: Page, accessible: Callable[[Page], None]) -> None:
    proposal = propose()
    signed_in.context.new_cdp_session(signed_in).send("Page.setFontSizes", SIZES)
    signed_in.goto(f"/proposals/{proposal.pk}/")
    assert signed_in.evaluate("getComputedStyle(document.documentElement).fontSize") == "34px"
    assert signed_in.evaluate(OFF_SCREEN) == []
    bars = "() => [...document.querySelectorAll('nav.bar, .acts')].map(one => getComputedStyle(one).position)"
    assert set(signed_in.evaluate(bars)) == {"static"}
    accessible(signed_in)


def test_full_sun_and_forced_colours_have_two_colours_and_no_fault(
    chromium: Browser, live_server: Any, signed_in: Page, accessible: Callable[[Page], None]
) -> None:
    proposal = propose()
    kept = [one for one in signed_in.context.cookies() if one["name"] == "sessionid"]
    context = chromium.new_context(**PHONE, base_url=live_server.url, forced_colors="active", color_scheme="dark")
    context.add_cookies(kept)
    forced = context.new_page()
    forced.goto(f"/proposals/{proposal.pk}/")
    accessible(forced)
    assert len(set(forced.evaluate(BUTTON))) == 2, "the word on the button is of the button's own colour"
    context.close()

    signed_in.context.add_cookies([{"name": COOKIE, "value": SUN, "url": live_server.url}])
    signed_in.goto(f"/proposals/{proposal.pk}/")
    accessible(signed_in)
    assert set(signed_in.evaluate(CONTRAST)) == {"rgb(0, 0, 0)", "rgb(255, 255, 255)"}
