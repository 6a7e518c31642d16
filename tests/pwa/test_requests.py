"""What a page asks for in a real browser: only our own server, and nothing of the decoder before the camera."""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage

from config import shell
from config.static_storage import is_module
from tests.factories import StackFactory
from tests.pwa.collected import collected_into

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_pages_ask_only_our_server_and_nothing_of_the_decoder(
    phone: Any, live_server: Any, sign_in: Callable[[], Any]
) -> None:
    """The page's own requests; what the worker fetches in the background for later is counted in test_weight.py."""
    sign_in()
    page = phone.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for address in ("/", "/scan/", f"/stacks/{StackFactory().code}/", "/yard/"):
        page.goto(address)
        page.wait_for_load_state("networkidle")
    assert any(url.endswith("/js/scan.js") for url in asked)
    assert [url for url in asked if not url.startswith(live_server.url)] == []
    assert [url for url in asked if "vendor/" in url or "scan_worker" in url] == []


def test_each_module_still_runs_without_its_comments(chromium: Any, tmp_path: Path) -> None:
    """The collected modules, as `manage.py serve` sends them, on the offline page, which holds what they look for."""
    with collected_into(tmp_path / "static"):
        names = [name for name in staticfiles_storage.hashed_files.values() if is_module(name)]
        offline = shell.offline_html()
    context = chromium.new_context(base_url="http://localhost:9")
    context.route("**/*", lambda route: serve(route, tmp_path, offline))
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto("/no-such-page/")
    for address in (f"/static/{name}" for name in sorted(names)):
        fault = page.evaluate("(address) => import(address).then(() => '', (reason) => String(reason))", address)
        if fault:
            faults.append(f"{address}: {fault}")
    context.close()
    assert len(names) > 12
    assert faults == []


def serve(route: Any, folder: Path, page: str) -> None:
    path = folder / urlsplit(route.request.url).path.removeprefix("/")
    if path.is_file():
        route.fulfill(path=path)
    else:
        route.fulfill(body=page, content_type="text/html")
