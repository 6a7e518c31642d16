"""The language of an answer: what its reader chose in their row, else what this browser kept, else what it asks for."""

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation
from django.utils.cache import patch_vary_headers

from yard import cookies
from yard.actions.language import language_of

PARAMETER = "language"
ROW = "row"
BEFORE_SIGNING_IN = frozenset({"login", "welcome", "invitation"})
"""Pages whose choice this browser keeps, so that the page after them is in the same language."""
NOBODYS = frozenset({"paper_public", "manifest"})
"""Asked for without anybody's name: the same for whoever happens to be signed in."""


class LanguageMiddleware:
    """Behind Django's own, which has read cookie and header already.

    The row's language is kept in the cookie as well: the offline page, the worker's script and the sign-in page are
    asked for by nobody who is known. A page for strangers takes `?language=` instead, and keeps nothing.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        kept = getattr(request, "language_to_keep", "")
        if kept == ROW:
            kept = language_of(request.user)  # as it is after the view, which may have changed it
        if kept and kept != request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME):
            cookies.keep(request, response, settings.LANGUAGE_COOKIE_NAME, kept)
        patch_vary_headers(response, ("Cookie",))
        return response

    def process_view(self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any) -> None:
        name = request.resolver_match.url_name if request.resolver_match else ""
        wanted = "" if getattr(view, "login_required", True) else asked(request)
        chosen = wanted or ("" if name in NOBODYS else language_of(request.user))
        if chosen:
            speak(request, chosen)
        if name not in NOBODYS:
            request.language_to_keep = wanted if name in BEFORE_SIGNING_IN else ROW  # type: ignore[attr-defined]


def asked(request: HttpRequest) -> str:
    """The language in the address, where it is one that there is."""
    wanted = request.GET.get(PARAMETER, "")
    return wanted if wanted in dict(settings.LANGUAGES) else ""


def speak(request: HttpRequest, language: str) -> None:
    translation.activate(language)
    request.LANGUAGE_CODE = translation.get_language()
