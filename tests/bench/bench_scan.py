"""From the camera's first picture to the first decoded tag, in Chromium with a fake camera; needs the vendored decoder.

The page is served as plain files by a server of this process; the modules are those of the Scan page, measured from
opening the camera. Times are those of this machine; the ratio to the clean tag is what carries over to others.
"""

import functools
import http.server
import shutil
import tempfile
import threading
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from typing import Any

from config.vendoring import ROOT, up_to_date
from tests.bench.figure import Figure
from tests.browser.cameras import VIEWS, camera_browser, film, frame
from tests.chromium import installed
from tests.yard.spoiled import PrintedTag, printed_tags
from yard.labels import label_printer

TAGS = 5
FIRST_DECODE_MS = """async () => {
  const { makeReader } = await import("/js/tag_reader.js");
  const video = document.body.appendChild(document.createElement("video"));
  const begin = performance.now();
  const [stream, reader] = await Promise.all([
    navigator.mediaDevices.getUserMedia({ video: { width: 1280, height: 720 } }),
    makeReader({ worker: "/js/scan_worker.js", decoder: "/vendor/qr/decode.js" })]);
  video.srcObject = stream;
  await video.play();
  while (performance.now() - begin < 10000) {
    const codes = await reader.read(video);
    if (codes.length) return [codes[0], performance.now() - begin];
  }
  return ["", performance.now() - begin];
}"""


def figures() -> Iterator[Figure]:
    found = installed(whole=True)
    if not found or not shutil.which("pdftoppm") or not up_to_date(ROOT / "static" / "vendor"):
        yield Figure("scan: not measured; wants chromium, pdftoppm and manage.py vendor", 0, "", "measured", False)
        return
    from playwright.sync_api import sync_playwright

    tags = printed_tags(TAGS, label_printer(148, 105, 2))
    with files_served() as site, sync_playwright() as playwright:
        clean = 0.0
        for view in VIEWS:
            times = [first_decode(playwright.chromium, found, site, tag, view) for tag in tags]
            read = [ms for ms in times if ms]
            yield Figure(f"scan, {view}: tags read", 100 * len(read) / TAGS, "%", "100 %", len(read) == TAGS)
            if read:
                clean = clean or median(read)
                yield Figure(f"scan, {view}: camera open to first decode", median(read), "ms", "for comparison", True)
                yield Figure(
                    f"scan, {view}: against clean", median(read) / clean, "x", "<= 3", median(read) <= 3 * clean
                )


def first_decode(kind: Any, found: str, site: str, tag: PrintedTag, view: str) -> float | None:
    """Milliseconds; None where the tag was not read, or as another one."""
    with tempfile.TemporaryDirectory() as name:
        shown = film(Path(name) / "camera.mjpeg", frame(VIEWS[view](tag)))
        with camera_browser(kind, found, shown) as browser:
            page = browser.new_page()
            page.goto(f"{site}/icons/")
            code, milliseconds = page.evaluate(FIRST_DECODE_MS)
    return milliseconds if code == tag.code else None


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *words: Any) -> None:
        pass


class files_served:  # noqa: N801 - used as a function
    """The static folder on a port of its own while the block runs; gives its address."""

    def __enter__(self) -> str:
        handler = functools.partial(Quiet, directory=str(ROOT / "static"))
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()
        return f"http://127.0.0.1:{self.server.server_address[1]}"

    def __exit__(self, *why: Any) -> None:
        self.server.shutdown()
        self.server.server_close()
