"""Lighthouse on the main pages, as its mobile profile has them: a slow phone on slow reception, all simulated.

The demo mill is served by a process of its own. Lighthouse comes from the npm registry, pinned, into a temporary
folder. Of RUNS looks at a page the median counts, as Lighthouse itself advises. Minutes.
"""

import json
import os
import re
import subprocess
import tempfile
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from statistics import median

from config.vendoring import npm
from tests.bench.demo_served import served
from tests.bench.figure import Figure
from tests.chromium import installed

LIGHTHOUSE = "lighthouse@12.8.2"
CATEGORIES = ("performance", "accessibility", "best-practices")
GOAL = 95
RUNS = int(os.environ.get("DRYSTACK_LIGHTHOUSE_RUNS", "3"))
# Name, page on which a link to it stands (or the page itself), and how that link reads.
PAGES = (
    ("sign in", "/sign-in/", None),
    ("Today", "/", None),
    ("the list", "/yard/", None),
    ("a stack", "/yard/", r"/stacks/[0-9A-Z]{10}/"),
    ("a reading", "/yard/", r"/stacks/[0-9A-Z]{10}/"),
    ("scan", "/scan/", None),
    ("a new stack", "/stacks/new/", None),
    ("needs", "/needs/", None),
    ("stock", "/stock/", None),
    ("kilns", "/kilns/", None),
    ("a kiln", "/kilns/", r"/kilns/\d+/"),
    ("a charge", "/kilns/", r"/charges/\d+/"),
    ("a plan", "/kilns/", r"/plans/\d+/"),
    ("tools", "/tools/", None),
)
BELOW = {"a reading": "readings/new/"}


def figures() -> Iterator[Figure]:
    found = installed(whole=True)
    if not found:
        yield Figure("lighthouse: not measured; wants chromium", 0, "", "measured", False)
        return
    with tempfile.TemporaryDirectory() as tools, tempfile.TemporaryDirectory() as data, served(data) as (site, key):
        program = fetched(Path(tools))
        for name, address in addresses(site, key):
            reports = [report(program, Path(tools), found, site + address, key) for _run in range(RUNS)]
            for category in CATEGORIES:
                score = 100 * median(one["categories"][category]["score"] for one in reports)
                yield Figure(f"lighthouse, {name}: {category}", score, "of 100", f">= {GOAL}", score >= GOAL)
                if score < GOAL:
                    print(*faults(reports[0], category), sep="\n")


def fetched(folder: Path) -> list[str]:
    """The command, once npm has brought it."""
    words = npm(folder)
    install = [*words, "install", "--prefix", str(folder), "--ignore-scripts", "--no-audit", "--no-fund", LIGHTHOUSE]
    subprocess.run(install, check=True, capture_output=True)
    return [*words, "exec", "--prefix", str(folder), "--offline", "--", "lighthouse"]


def addresses(site: str, key: str) -> Iterator[tuple[str, str]]:
    for name, page, link in PAGES:
        request = urllib.request.Request(site + page, headers={"Cookie": f"sessionid={key}"})  # noqa: S310 (our own)
        with urllib.request.urlopen(request, timeout=60) as answer:  # noqa: S310
            html = answer.read().decode()
        if link is None:
            yield name, page
            continue
        found = re.search(f'href="({link})"', html)
        if not found:
            raise LookupError(f"{page} has no link to {name}")
        yield name, found[1] + BELOW.get(name, "")


def report(program: list[str], folder: Path, chromium: str, address: str, key: str) -> dict:
    """One look at a page, signed in but for the page to sign in at; Lighthouse empties the browser's storage first."""
    cookies = {} if "/sign-in/" in address else {"Cookie": f"sessionid={key}"}
    command = [
        *program,
        address,
        "--quiet",
        "--output=json",
        f"--output-path={folder / 'report.json'}",
        f"--only-categories={','.join(CATEGORIES)}",
        f"--extra-headers={json.dumps(cookies)}",
        "--chrome-flags=--headless=new --no-sandbox --disable-gpu",
    ]
    environment = {**os.environ, "CHROME_PATH": chromium}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(done.stderr[-2000:])
    return json.loads((folder / "report.json").read_text())


def faults(found: dict, category: str) -> Iterator[str]:
    """What took the score down, with what Lighthouse measured."""
    for part in found["categories"][category]["auditRefs"]:
        audit = found["audits"][part["id"]]
        if part["weight"] and (audit["score"] or 0) < 0.95:
            yield f"  {audit['title']}: {audit.get('displayValue', audit['score'])}"
