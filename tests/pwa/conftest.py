"""A phone: Debian's Chromium at 360 × 740, driven by Playwright."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.chromium import chromium

__all__ = ["chromium"]


@pytest.fixture
def phone(chromium: Any) -> Iterator[Any]:
    """A fresh browser context, so that neither cookies nor workers last."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, has_touch=True)
    context.set_default_timeout(10_000)
    yield context
    context.close()
