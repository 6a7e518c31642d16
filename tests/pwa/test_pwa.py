"""Service worker, manifest, offline page, probe: open to all, and telling nobody's name to the next reader."""

import json
import re
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.contrib.staticfiles import finders
from django.core.management import call_command
from django.test import Client
from django.utils import timezone
from PIL import Image

from config import shell
from config.management.commands import icons
from tests.conftest import forget_shell
from tests.factories import StackFactory
from yard.measures.system import IMPERIAL, told_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed_in(client: Client) -> Client:
    client.force_login(get_user_model().objects.create_user("Orla-of-the-mill"))
    return client


def shell_of(client: Client) -> dict[str, Any]:
    script = client.get("/sw.js").content.decode()
    found = re.search(r"^const SHELL = (\{.*\});$", script, flags=re.MULTILINE)
    assert found
    return json.loads(found[1])


@pytest.mark.parametrize("path", ["/sw.js", "/sw-classic.js", "/manifest.webmanifest", "/offline", "/probe"])
def test_each_is_answered_without_signing_in(client: Client, path: str) -> None:
    assert client.get(path).status_code == 200
    assert client.post(path).status_code == 405


def test_the_worker_is_a_script_from_the_root_asked_for_anew_each_time(client: Client) -> None:
    answer = client.get("/sw.js")
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"


def test_each_file_that_the_worker_keeps_is_there(client: Client) -> None:
    kept = shell_of(client)
    assert kept["files"]
    for url in kept["files"]:
        assert finders.find(url.removeprefix(kept["static"])), url
    assert client.get(kept["offline"]).status_code == 200


def test_the_worker_knows_the_offline_page_of_its_own_version(client: Client) -> None:
    assert client.get("/offline")["X-Drystack-Shell"] == shell_of(client)["cache"]


def test_the_decoder_is_kept_only_where_it_was_fetched(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shell, "decoder", lambda: "")
    assert not [url for url in shell_of(client)["files"] if "vendor" in url]
    monkeypatch.setattr(shell, "decoder", lambda: "/static/vendor/qr/decode.js")
    assert "/static/vendor/qr/index.js" in shell_of(client)["files"]


def test_only_the_module_worker_imports_the_outbox(client: Client) -> None:
    assert 'from "/static/js/outbox.js"' in client.get("/sw.js").content.decode()
    classic = client.get("/sw-classic.js").content.decode()
    assert not re.search(r"^import\b", classic, flags=re.MULTILINE)
    assert '"fetch"' in classic


def test_the_cache_has_another_name_when_a_file_has(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    before = shell_of(client)["cache"]
    assert shell_of(client)["cache"] == before
    monkeypatch.setattr(shell, "SHELL_FILES", shell.SHELL_FILES[:-1])
    assert shell_of(client)["cache"] != before


def test_what_stands_in_the_yard_and_which_day_it_is_make_no_new_version(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = shell_of(client)["cache"]
    StackFactory()
    forget_shell("TEMPLATES")
    monkeypatch.setattr(timezone, "now", lambda: datetime(2031, 5, 4, 3, tzinfo=UTC))
    assert shell_of(client)["cache"] == before


def test_it_is_drawn_once_for_each_kind_of_reader(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    forget_shell("TEMPLATES")
    drawn: list[str] = []
    real = shell.render_to_string
    monkeypatch.setattr(shell, "render_to_string", lambda name, *more: drawn.append(name) or real(name, *more))
    for _time in range(2):
        shell_of(client)
        client.get("/offline")
    assert drawn.count("pwa/offline.html") == 1
    with told_in(IMPERIAL):
        assert "bd\u00a0ft" in shell.offline_html()
    assert drawn.count("pwa/offline.html") == 2


def test_the_manifest_names_icons_of_the_sizes_it_says(client: Client) -> None:
    answer = client.get("/manifest.webmanifest")
    assert answer["Content-Type"] == "application/manifest+json"
    manifest = answer.json()
    assert {"name", "start_url", "display", "icons"} <= set(manifest)
    for icon in manifest["icons"]:
        found = finders.find(icon["src"].removeprefix("/static/"))
        with Image.open(str(found)) as image:
            assert f"{image.width}x{image.height}" == icon["sizes"]
    purposes = {(icon["sizes"], icon["purpose"]) for icon in manifest["icons"]}
    assert {("192x192", "any"), ("512x512", "any"), ("512x512", "maskable")} <= purposes


def test_the_maskable_drawing_lies_in_the_circle_that_no_mask_cuts() -> None:
    # W3C Web Application Manifest, "Icon masks and safe zone": a circle of 40 % of the width about the middle.
    image = icons.png(512, icons.MASKABLE_SCALE, round_corners=False).convert("RGB")
    ground = image.getpixel((0, 0))
    middle, radius = 255.5, 0.4 * 512
    drawn = [(x, y) for x in range(512) for y in range(512) if image.getpixel((x, y)) != ground]
    assert drawn
    assert max((x - middle) ** 2 + (y - middle) ** 2 for x, y in drawn) <= radius**2


def test_the_icons_kept_are_those_that_the_command_draws(tmp_path: Path) -> None:
    call_command("icons", folder=tmp_path, stdout=StringIO())
    kept = Path(str(finders.find("icons/drystack.svg"))).parent
    assert (kept / "drystack.svg").read_text() == (tmp_path / "drystack.svg").read_text()
    for drawn in tmp_path.glob("*.png"):
        with Image.open(drawn) as new, Image.open(kept / drawn.name) as old:
            assert new.tobytes() == old.tobytes(), drawn.name


def test_the_offline_page_bears_no_reader_s_name(signed_in: Client) -> None:
    assert "Orla" not in signed_in.get("/offline").content.decode()


def test_the_probe_says_who_and_is_never_stored(client: Client) -> None:
    answer = client.get("/probe")
    assert "no-store" in answer["Cache-Control"]
    assert answer.json()["drystack"] == "here"
    assert answer.json()["user"] is None


def test_the_probe_leaves_a_stranger_s_sign_in_form_its_token(client: Client) -> None:
    assert client.get("/probe").cookies == {}
    page = client.get("/sign-in/")
    assert client.get("/probe").cookies == {}
    assert "csrftoken" in page.cookies


def test_the_probe_s_token_lets_a_form_through(signed_in: Client) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = signed_in.cookies
    token = strict.get("/probe").json()["csrf"]
    assert strict.post("/sign-out/").status_code == 403
    assert strict.post("/sign-out/", {"csrfmiddlewaretoken": token}).status_code == 302


def test_the_sign_in_page_registers_no_worker(client: Client) -> None:
    page = client.get("/sign-in/").content.decode()
    assert "drystack.css" in page
    assert "js/app.js" not in page
