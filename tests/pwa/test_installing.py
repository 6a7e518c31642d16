"""A phone may install the site as an app.

What browsers ask for: W3C Web Application Manifest (members name, icons, start_url, display, scope), and icons of 192
and 512 pixels as Chromium's installability check wants them (from memory). Chromium's own verdict is asked for too.
"""

from io import BytesIO
from typing import Any
from urllib.parse import urljoin

import pytest
from PIL import Image

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def manifest(installed: Any) -> dict[str, Any]:
    """As the page that is open names it, fetched by that page."""
    told = installed.evaluate("fetch(document.querySelector('link[rel=manifest]').href).then((each) => each.json())")
    return dict(told)


def test_the_manifest_says_all_that_a_phone_needs(manifest: dict[str, Any]) -> None:
    assert manifest["name"] and len(manifest["short_name"]) <= 12
    assert manifest["display"] == "standalone"
    assert manifest["start_url"].startswith(manifest["scope"]) and manifest["scope"] == "/"
    assert manifest["id"] == "/"
    assert not manifest.get("prefer_related_applications")


def test_each_icon_is_served_with_the_size_and_type_that_it_claims(
    installed: Any, live_server: Any, manifest: dict[str, Any]
) -> None:
    sizes = set()
    for icon in manifest["icons"]:
        answer = installed.request.get(urljoin(live_server.url, icon["src"]))
        assert answer.ok and answer.headers["content-type"] == icon["type"] == "image/png"
        with Image.open(BytesIO(answer.body())) as image:
            assert f"{image.width}x{image.height}" == icon["sizes"]
        sizes.add((icon["sizes"], icon["purpose"]))
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= sizes


def test_the_worker_has_the_whole_site_and_the_start_page_opens_without_reception(
    installed: Any, phone: Any, live_server: Any, manifest: dict[str, Any]
) -> None:
    scope = installed.evaluate("navigator.serviceWorker.getRegistration().then((found) => found.scope)")
    assert scope == f"{live_server.url}/"
    phone.set_offline(True)
    answer = installed.goto(manifest["start_url"])
    assert answer.status == 200 and answer.from_service_worker


def test_the_browser_itself_finds_nothing_against_installing(installed: Any, phone: Any) -> None:
    session = phone.new_cdp_session(installed)
    found = session.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # A Playwright context is a private window, where nothing can be installed whatever the site does.
    assert [each["errorId"] for each in found if each["errorId"] != "in-incognito"] == []
    assert session.send("Page.getAppManifest")["errors"] == []


def test_the_setup_page_says_how_and_why(installed: Any) -> None:
    installed.goto("/setup/")
    assert installed.get_by_role("heading", name="On your phone").is_visible()
    assert "Add to Home Screen" in installed.inner_text("main")
