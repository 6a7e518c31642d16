"""The shell: what the service worker keeps on the phone so that the app opens without reception."""

import hashlib
import json
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from django.conf import settings
from django.template.loader import render_to_string
from django.templatetags.static import PrefixNode, static
from django.urls import reverse
from django.utils.translation import get_language

from config.offline import pages
from config.static_storage import smaller
from config.templatetags.scanner import DECODER, decoder
from yard.measures.system import told

# What every page loads and the offline page needs to look right. Our own modules are all kept: see `own_modules`.
SHELL_FILES = (
    "css/drystack.css",
    "django_htmx/htmx-2.min.js",
    "icons/drystack.svg",
    "icons/drystack-192.png",
)
MOST_READERS = 32
"""Kept drawn: languages times units, and more."""
DECODER_FILES = (DECODER, "vendor/qr/index.js")


@cache
def own_modules() -> tuple[str, ...]:
    """Every module of ours: together they weigh less than one photo, and none can be forgotten in a list."""
    folder = Path(settings.BASE_DIR) / "static"
    return tuple(sorted(str(path.relative_to(folder).as_posix()) for path in (folder / "js").rglob("*.js")))


def names() -> tuple[str, ...]:
    """The static files of the shell, each once; the decoder only where it was fetched."""
    found = (*SHELL_FILES, *own_modules(), *(DECODER_FILES if decoder() else ()))
    return tuple(dict.fromkeys(found))


class Reader(NamedTuple):
    """All that the shell hangs on besides this version's own files: so it is drawn once for each, not at each request
    of each phone, which asks for the worker's script with every page."""

    language: str
    units: str
    files: tuple[str, ...]

    @classmethod
    def now(cls) -> "Reader":
        return cls(get_language() or "", told(), tuple(static(name) for name in names()))


def offline_html() -> str:
    """The offline page as anyone may keep it: drawn without a request, so that no reader's name is in it."""
    return _offline_html(Reader.now())


def shell() -> dict[str, Any]:
    """What sw.js keeps. The cache's name changes when any of it does, the worker's own rules included."""
    return _shell(Reader.now())


def script(module: bool) -> str:
    """The worker's script. As a module it also imports the outbox, to send by background sync."""
    return _script(Reader.now(), module)


@lru_cache(maxsize=MOST_READERS)
def _offline_html(_reader: Reader) -> str:
    return render_to_string("pwa/offline.html", pages.context())


@lru_cache(maxsize=MOST_READERS)
def _shell(reader: Reader) -> dict[str, Any]:
    body = {
        "offline": reverse("offline"),
        "static": PrefixNode.handle_simple("STATIC_URL"),
        "files": list(reader.files),
        "paths": list(pages.OFFLINE_PATHS),
        "bare": render_to_string("pwa/bare.html"),
    }
    rules = render_to_string("pwa/sw.js") + render_to_string("pwa/sw_sync.js")
    digest = hashlib.sha256((json.dumps(body) + _offline_html(reader) + rules).encode()).hexdigest()[:12]
    return {"cache": f"drystack-shell-{digest}", **body}


@lru_cache(maxsize=MOST_READERS)
def _script(reader: Reader, module: bool) -> str:
    own = f"const SHELL = {json.dumps(_shell(reader))};\n{smaller(render_to_string('pwa/sw.js'))}\n"
    if not module:
        return own
    outbox = json.dumps(static("js/outbox.js"))
    return f"import {{ sendAll }} from {outbox};\n{own}{smaller(render_to_string('pwa/sw_sync.js'))}\n"
