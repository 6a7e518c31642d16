"""A phone's page in each look that people may set: dark, full sun, type twice as large, forced colours, no motion."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from playwright.sync_api import Page

from config.look import COOKIE, SUN
from tests.chromium import ARGUMENTS

LARGE = 32  # px, where a browser's own setting is 16
LOOKS: dict[str, dict[str, Any]] = {
    "light": {},
    "dark": {"color_scheme": "dark"},
    "sun": {},
    "large type": {},
    "large type, 720 px": {"viewport": {"width": 720, "height": 740}},
    "forced colours": {"forced_colors": "active", "color_scheme": "dark"},
    "still": {"reduced_motion": "reduce"},
}

# Whatever is not in a box of its own that is moved sideways: a table with a name, a drawing to scale, chips.
OFF_SCREEN = """() => {
  const wide = document.documentElement.clientWidth;
  const MOVED = "svg, .visually-hidden, .skip, .scroll, .chips, .chooser";
  const seen = (one) => one.checkVisibility() && !one.closest(MOVED);
  return [...document.querySelectorAll("body *")].filter(seen).filter((one) => {
    const box = one.getBoundingClientRect();
    return box.width > 0 && (box.right > wide + 1 || box.left < -1);
  }).slice(0, 5).map((one) => `${one.tagName}.${one.className} ${one.textContent.trim().slice(0, 40)}`);
}"""


@contextmanager
def opened(playwright: Any, chromium: str, site: str, key: str, look: str) -> Iterator[Page]:
    """A page of somebody who is signed in, in a browser whose own settings are of this look."""
    given = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "service_workers": "block", **LOOKS[look]}
    with TemporaryDirectory() as profile:
        if look.startswith("large"):
            (Path(profile) / "Default").mkdir()
            (Path(profile) / "Default" / "Preferences").write_text(json.dumps(LARGE_TYPE))
        context = playwright.chromium.launch_persistent_context(
            profile, executable_path=chromium, args=ARGUMENTS, **given
        )
        cookies = {"sessionid": key} | ({COOKIE: SUN} if look == "sun" else {})
        context.add_cookies([{"name": name, "value": value, "url": site} for name, value in cookies.items()])
        yield context.new_page()
        context.close()


LARGE_TYPE = {"webkit": {"webprefs": {"default_font_size": LARGE, "default_fixed_font_size": LARGE - 6}}}
