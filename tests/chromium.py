"""The browser of all browser tests: Debian's Chromium, driven by Playwright; skipped where it is missing."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
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


# The one without a desktop's browser around its pages takes a quarter to a third less processor for the same tests;
# it has no camera and shows no notifications.
SHELL = ["chromium-headless-shell"]
WHOLE = ["chromium", "chromium-browser", "google-chrome"]


def installed(*, whole: bool = False) -> str | None:
    """Where Chromium is on this machine."""
    return next((found for name in (WHOLE if whole else SHELL + WHOLE) if (found := shutil.which(name))), None)


def needed(*, whole: bool = False) -> str:
    """Where Chromium is; where it is missing, the test is skipped, or fails in CI."""
    found = installed(whole=whole)
    if not found:
        skip_or_fail(f"needs Chromium; on Debian: apt-get install {(WHOLE if whole else SHELL)[0]}")
    return str(found)


@contextmanager
def launched(*, whole: bool = False) -> Iterator[Any]:
    """A browser. Playwright's loop runs in this thread, where the tests' own few queries run too."""
    found = needed(whole=whole)
    from playwright.sync_api import sync_playwright

    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=found, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def chromium(django_db_setup: None) -> Iterator[Any]:
    """One browser a file."""
    with launched() as browser:
        yield browser
