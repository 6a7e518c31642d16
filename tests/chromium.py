"""The browser of all browser tests: Debian's Chromium, driven by Playwright; skipped where it is missing."""

import shutil
from collections.abc import Iterator
from typing import Any

import pytest

from tests.conftest import skip_or_fail

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"viewport": {"width": 360, "height": 740}, "device_scale_factor": 2, "has_touch": True, "is_mobile": True}


@pytest.fixture(scope="module")
def chromium(django_db_setup: None) -> Iterator[Any]:
    """One browser a file. Playwright's loop runs in this thread, where the tests' own few queries run too."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if not found:
        skip_or_fail("needs Chromium; on Debian: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=found, args=ARGUMENTS)
        yield browser
        browser.close()
