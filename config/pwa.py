"""What makes the site an app on a phone: service worker, manifest, offline page, probe. None needs signing in."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.templatetags.static import static
from django.urls import path, reverse
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from config import shell
from yard.measures.system import said_in, told_in

ICON_SIZES = (192, 512)
# The phone's own frame around the pages; the same colours as --paper and --ink in drystack.css.
PAPER = "#f6f6f0"


@login_not_required
@require_safe
def service_worker(request: HttpRequest, module: bool = True) -> HttpResponse:
    """The worker's script, from the root so that its scope is the whole site; asked for anew each time.

    Browsers ask for a module worker without cookies, so its address says the language (LanguageMiddleware hears it) and
    the units of the offline page that it will fetch with them; were it another's, the worker would refuse the page.
    """
    with told_in(said_in(request)):
        script = shell.script(module)
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
        "lang": get_language(),
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
    headers = {"Cache-Control": "no-cache", "X-Drystack-Shell": shell.shell()["cache"]}
    return HttpResponse(shell.offline_html(), headers=headers)


@login_not_required
@never_cache
@require_safe
def probe(request: HttpRequest) -> JsonResponse:
    """Answer that no café's sign-in page can fake: tells whether the yard is reached, by whom, and the form token.

    A stranger gets no token: its cookie would replace the one that a sign-in page, open beside it, was made for.
    """
    if not request.user.is_authenticated:
        return JsonResponse({"drystack": "here", "user": None, "id": None, "csrf": None})
    user = {"user": request.user.get_username(), "id": str(request.user.pk)}
    return JsonResponse({"drystack": "here", **user, "csrf": get_token(request)})


urlpatterns = [
    path("sw.js", service_worker, name="service-worker"),
    path("sw-classic.js", service_worker, {"module": False}, name="service-worker-classic"),
    path("manifest.webmanifest", manifest, name="manifest"),
    path("offline", offline, name="offline"),
    path("probe", probe, name="probe"),
]
