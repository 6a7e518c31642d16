"""axe-core on the page that is open: what it finds wrong, and nothing else of its result."""

from typing import Any

from axe_playwright_python.base import AXE_SCRIPT, AxeResults
from playwright.sync_api import Page

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
COLOURS = ["cat.color"]
# Style sheets are looked into for one experimental rule alone, which is not among those asked for.
LEAN = {"resultTypes": ["violations"], "preload": {"assets": ["media"]}}


def axe(page: Page, *, only: list[str]) -> AxeResults:
    """What of the rules with these tags the page breaks. axe goes into a page once: that takes longer than many a
    look, and a page is looked at in the light and in the dark."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    options: dict[str, Any] = {"runOnly": {"type": "tag", "values": only}, **LEAN}
    return AxeResults(page.evaluate("(options) => axe.run(options).then(({violations}) => ({violations}))", options))
