"""The shell: what the service worker keeps on the phone so that the app opens without reception."""

import hashlib
import json
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.template.loader import render_to_string
from django.templatetags.static import PrefixNode, static
from django.urls import reverse
from django.utils.translation import get_language

from config.offline import pages
from config.storage import smaller
from config.templatetags.scanner import DECODER, decoder
from yard.measures.system import FIELD, told

# What every page loads and the offline page needs to look right. Our own modules are all kept: see `own_modules`.
SHELL_FILES = (
    "css/drystack.css",
    "django_htmx/htmx-2.min.js",
    "icons/drystack.svg",
    "icons/drystack-192.png",
)
DECODER_FILES = (DECODER, "vendor/qr/index.js")


@cache
def own_modules() -> tuple[str, ...]:
    """Every module of ours: together they weigh less than one photo, and none can be forgotten in a list."""
    folder = Path(settings.BASE_DIR) / "static"
    return tuple(sorted(str(path.relative_to(folder).as_posix()) for path in (folder / "js").rglob("*.js")))


def offline_html() -> str:
    """The offline page as anyone may keep it: drawn without a request, so that no reader's name is in it."""
    return render_to_string("pwa/offline.html", pages.context())


def names() -> tuple[str, ...]:
    """The static files of the shell, each once; the decoder only where it was fetched."""
    found = (*SHELL_FILES, *own_modules(), *(DECODER_FILES if decoder() else ()))
    return tuple(dict.fromkeys(found))


def reader_query() -> str:
    """Whose shell it is, in the worker's address: a language and units."""
    return urlencode({"language": get_language() or settings.LANGUAGE_CODE, FIELD: told()})


def shell() -> dict[str, Any]:
    """What sw.js keeps. The cache's name changes when any of it does, the worker's own rules included."""
    body = {
        "offline": reverse("offline"),
        "static": PrefixNode.handle_simple("STATIC_URL"),
        "files": [static(name) for name in names()],
        "paths": list(pages.OFFLINE_PATHS),
        "bare": render_to_string("pwa/bare.html"),
    }
    rules = render_to_string("pwa/sw.js") + render_to_string("pwa/sw_sync.js")
    digest = hashlib.sha256((json.dumps(body) + offline_html() + rules).encode()).hexdigest()[:12]
    return {"cache": f"drystack-shell-{digest}", **body}


def script(module: bool) -> str:
    """The worker's script. As a module it also imports the outbox, to send by background sync."""
    own = f"const SHELL = {json.dumps(shell())};\n{smaller(render_to_string('pwa/sw.js'))}\n"
    if not module:
        return own
    outbox = json.dumps(static("js/outbox.js"))
    return f"import {{ sendAll }} from {outbox};\n{own}{smaller(render_to_string('pwa/sw_sync.js'))}\n"
