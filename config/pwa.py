"""What makes the site an app on a phone: service worker, manifest, offline page, probe. None needs signing in."""

import hashlib
import json
from typing import Any

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string
from django.templatetags.static import PrefixNode, static
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

# What the offline page needs to look right, and what every page loads.
SHELL_FILES = (
    "css/drystack.css",
    "js/app.js",
    "js/keypad.js",
    "django_htmx/htmx-2.min.js",
    "icons/drystack.svg",
    "icons/drystack-192.png",
)
ICON_SIZES = (192, 512)
# The phone's own frame around the pages; the same colours as --paper and --ink in drystack.css.
PAPER = "#f6f6f0"


def offline_html() -> str:
    """The offline page as anyone may keep it: drawn without a request, so that no reader's name is in it."""
    return render_to_string("pwa/offline.html")


def shell() -> dict[str, Any]:
    """What the service worker keeps. The cache's name changes when any of it does."""
    files = [static(name) for name in SHELL_FILES]
    seed = json.dumps(files) + offline_html() + render_to_string("pwa/sw.js")
    digest = hashlib.sha256(seed.encode()).hexdigest()[:12]
    prefix = PrefixNode.handle_simple("STATIC_URL")
    return {"cache": f"drystack-shell-{digest}", "offline": reverse("offline"), "static": prefix, "files": files}


@login_not_required
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """The worker's script, from the root so that its scope is the whole site; asked for anew each time."""
    script = f"const SHELL = {json.dumps(shell())};\n" + render_to_string("pwa/sw.js")
    return HttpResponse(script, content_type="text/javascript; charset=utf-8", headers={"Cache-Control": "no-cache"})


def manifest_icon(name: str, size: int, purpose: str) -> dict[str, str]:
    return {"src": static(f"icons/{name}"), "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}


@login_not_required
@require_safe
def manifest(request: HttpRequest) -> HttpResponse:
    """The web app manifest: name, start, icons."""
    icons = [manifest_icon(f"drystack-{size}.png", size, "any") for size in ICON_SIZES]
    icons.append(manifest_icon("drystack-maskable-512.png", 512, "maskable"))
    body = {
        "id": "/",
        "name": "Drystack",
        "short_name": "Drystack",
        "description": _("From the tag on a fresh-sawn stack to a full kiln charge."),
        "start_url": reverse("today"),
        "scope": "/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": PAPER,
        "icons": icons,
        "shortcuts": [{"name": str(_("Scan a tag")), "url": reverse("scan")}],
    }
    return JsonResponse(body, content_type="application/manifest+json")


@login_not_required
@require_safe
def offline(request: HttpRequest) -> HttpResponse:
    """Shown by the service worker in place of a page that can't be fetched."""
    return HttpResponse(offline_html(), headers={"Cache-Control": "no-cache"})


@login_not_required
@never_cache
@require_safe
def probe(request: HttpRequest) -> JsonResponse:
    """Answer that no café's sign-in page can fake: tells whether the yard is reached, by whom, and the form token."""
    here = request.user.is_authenticated
    user = {"user": request.user.get_username() if here else None, "id": str(request.user.pk) if here else None}
    return JsonResponse({"drystack": "here", **user, "csrf": get_token(request)})


urlpatterns = [
    path("sw.js", service_worker, name="service-worker"),
    path("manifest.webmanifest", manifest, name="manifest"),
    path("offline", offline, name="offline"),
    path("probe", probe, name="probe"),
]
