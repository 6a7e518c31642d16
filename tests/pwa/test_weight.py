"""What goes over the air, as `manage.py serve` sends it (compressed; 1 KB is 1000 bytes), on the demo mill.

Printed with -s: the heaviest pages. The shell that the worker fetches in the background, for later without reception,
is counted apart: no page waits for it, and on a later visit it is there.
"""

import gzip
import re
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.contrib.auth import get_user_model
from django.contrib.staticfiles.storage import staticfiles_storage
from django.db import transaction
from django.test import Client

from config import shell
from config.demo import charges
from tests.browser.test_every_screen import furnish, screens
from tests.pwa.collected import HASHED, collected_into, sent_bytes, with_imports
from yard.models import Stack

pytestmark = pytest.mark.django_db
OWN_JS_BYTES = 40_000
PAGE_BYTES = 100_000
FIRST_VISIT_BYTES = 100_000
SHELL_BYTES = 120_000
DECODER = "vendor/"
LOADED = re.compile(r'<link\b[^>]*\bhref="([^"]+)"|<(?:script|img|source|iframe)\b[^>]*\bsrc="([^"]+)"')


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    with collected_into(tmp_path_factory.mktemp("static")) as folder:
        yield folder


@pytest.fixture(scope="module")
def reader(django_db_setup: None, django_db_blocker: Any) -> Iterator[Client]:
    """The owner of the whole demo mill, which is built once for this file and then rolled back. A plan weighs the same
    however long it was thought about."""
    with django_db_blocker.unblock(), transaction.atomic(), pytest.MonkeyPatch.context() as patch:
        patch.setattr(charges, "make_plan", partial(charges.make_plan, seconds=charges.AT_ONCE))
        furnish()
        client = Client()
        client.force_login(
            get_user_model().objects.get(username="owner"), backend="django.contrib.auth.backends.ModelBackend"
        )
        yield client
        transaction.set_rollback(True)


def loaded(html: str) -> set[str]:
    """Addresses of what a page loads besides itself."""
    return {next(filter(None, match.groups())) for match in LOADED.finditer(html)}


def answer(client: Client, address: str) -> tuple[int, str]:
    """Bytes as sent, and the page itself."""
    response = client.get(address, headers={"Accept-Encoding": "gzip"}, follow=True)
    assert response.status_code == 200, address
    sent = response.content
    plain = gzip.decompress(sent) if response.get("Content-Encoding") == "gzip" else sent
    return len(sent), plain.decode() if response["Content-Type"].startswith("text/html") else ""


def files_of(folder: Path, addresses: set[str]) -> set[Path]:
    """Static files with all that they import."""
    names = [address.removeprefix("/static/") for address in addresses if address.startswith("/static/")]
    found = set()
    for path in ((folder / name).resolve() for name in names):
        found |= with_imports(path) if "/js/" in str(path) else {path}
    return found


def test_all_our_own_scripts_weigh_less_than_40_kb(collected: Path, reader: Client) -> None:
    modules = [path for path in (collected / "js").rglob("*.js") if HASHED.search(path.name)]
    # packed here, as the middleware packs it but for the random length that it adds to each answer
    worker = len(gzip.compress(reader.get("/sw.js").content, 6, mtime=0))
    total = sum(map(sent_bytes, modules)) + worker
    print(f"\nour own scripts: {total} bytes in {len(modules)} modules, {worker} of them the worker's")
    assert len(modules) > 8
    assert total < OWN_JS_BYTES


def test_no_page_weighs_more_than_100_kb_with_all_that_it_loads(collected: Path, reader: Client) -> None:
    weights = {}
    for address in screens():
        own, html = answer(reader, address)
        files = files_of(collected, loaded(html))
        # what people photographed is theirs to weigh, and is drawn only when scrolled to
        pictures = [each for each in loaded(html) if not each.startswith(("/static/", "/photos/"))]
        assert [each for each in pictures if urlsplit(each).netloc] == [], f"{address} asks another site"
        assert not [path for path in files if DECODER in str(path)], f"{address} loads the decoder before the camera"
        weights[address] = own + sum(map(sent_bytes, files)) + sum(answer(reader, each)[0] for each in pictures)
    heaviest = sorted(weights, key=weights.__getitem__, reverse=True)
    print("\n" + "\n".join(f"{weights[address]:7} {address}" for address in heaviest[:8]))
    assert len(weights) > 40
    assert weights[heaviest[0]] < PAGE_BYTES


def test_the_first_visit_and_the_shell_stay_light(collected: Path, reader: Client) -> None:
    own, html = answer(reader, "/")
    first = own + sum(map(sent_bytes, files_of(collected, loaded(html))))
    kept = [collected / staticfiles_storage.url(name).removeprefix("/static/") for name in shell.names()]
    decoder = sum(sent_bytes(path) for path in kept if DECODER in str(path))
    rest = sum(sent_bytes(path) for path in kept) - decoder + answer(reader, "/offline")[0]
    print(f"\nfirst page {first} bytes; the shell, in the background, {rest} and {decoder} of decoder")
    assert first < FIRST_VISIT_BYTES
    assert rest + decoder < SHELL_BYTES


def test_pages_are_compressed(reader: Client) -> None:
    code = Stack.objects.drying()[0].code
    for address in ("/", "/yard/", f"/stacks/{code}/"):
        sent, html = answer(reader, address)
        print(f"\n{address}: {sent} of {len(html.encode())} bytes")
        assert sent < len(html.encode()) / 2
