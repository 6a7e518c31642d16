"""Every page of the demo mill in the looks beside light and dark, which the suite walks: WCAG 2.2 AA by axe-core, and
nothing off the screen, all details open.

The demo mill is served by a process of its own, and walked by its links: of addresses that differ in their numbers and
codes alone the first is taken. Minutes; the suite looks at one page (tests/browser/test_looks.py).
"""

import re
import sys
import tempfile
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

from tests.axe import WCAG, axe
from tests.bench.demo_served import served
from tests.bench.figure import Figure
from tests.browser.conftest import BARS_IN_FLOW
from tests.browser.looks import LOOKS, OFF_SCREEN, opened
from tests.chromium import installed

PAGES = 120
NAMES = re.compile(r"/\d+(?=/)|/[0-9A-Z]{10}(?=/)|/[0-9a-f-]{36}(?=/)|(?<=species/)[a-z_]+|(?<=tools/)[a-z_]+")
LINKS = "() => [...document.querySelectorAll('a[href]')].map(a => new URL(a.getAttribute('href'), location).href)"
LEFT_OUT = re.compile(r"\.(pdf|csv|json|xlsx|ics|zip)$|/label|/photo|/static/|/p/|openapi|/exchange/.*/(yard|example)/")


def figures() -> Iterator[Figure]:
    found = installed()
    if not found:
        yield Figure("looks: not measured; wants chromium", 0, "", "measured", False)
        return
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as data, served(data) as (site, key), sync_playwright() as playwright:
        pages = walked(playwright, found, site, key)
        yield Figure("looks: pages", len(pages), "pages", "> 50", len(pages) > 50)
        for look in LOOKS:
            faults = list(faults_of(playwright, found, site, key, look, pages))
            print("\n".join(faults), file=sys.stderr)
            yield Figure(f"looks, {look}: faults", len(faults), "faults", "none", not faults)


def walked(playwright: Any, found: str, site: str, key: str) -> list[str]:
    """Addresses that links lead to, nearest first, one of each kind."""
    queue, seen, pages = ["/"], {"/"}, []
    with opened(playwright, found, site, key, "light") as page:
        while queue and len(pages) < PAGES:
            address = queue.pop(0)
            answer = page.goto(site + address)
            if not answer or answer.status != 200 or "html" not in answer.headers["content-type"]:
                continue
            pages.append(address)
            for link in page.evaluate(LINKS):
                parts = urlsplit(link)
                kind = NAMES.sub("/…", parts.path)
                if link.startswith(site) and kind not in seen and not LEFT_OUT.search(parts.path):
                    seen.add(kind)
                    queue.append(parts.path + (f"?{parts.query}" if parts.query else ""))
    return pages


def faults_of(playwright: Any, found: str, site: str, key: str, look: str, pages: list[str]) -> Iterator[str]:
    with opened(playwright, found, site, key, look) as page:
        for address in pages:
            page.goto(site + address)
            page.evaluate("document.querySelectorAll('main details').forEach(one => one.open = true)")
            page.evaluate(BARS_IN_FLOW, True)
            result = axe(page, only=WCAG)
            for rule in result.response["violations"]:
                yield f"{look} {address}: {rule['id']} {[node['target'] for node in rule['nodes']][:3]}"
            for off in page.evaluate(OFF_SCREEN):
                yield f"{look} {address}: off the screen: {off}"
