"""Cross-cutting work for htmx, so that a view answers a page or a fragment in the same way."""

from collections.abc import Callable
from http import HTTPStatus
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.contrib.auth import REDIRECT_FIELD_NAME
from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import resolve_url
from django.template.loader import render_to_string
from django.utils.cache import patch_vary_headers

VARY = ("HX-Request", "HX-Target")
# A status in the range 300 to 399 never reaches htmx: the browser follows it on its own and swaps a whole page in.
REDIRECTS = range(300, 400)
# Only what htmx swaps in can carry a message; elsewhere it waits for the next page.
SWAPPED = frozenset({HTTPStatus.OK, HTTPStatus.CREATED, HTTPStatus.UNPROCESSABLE_ENTITY})


class HtmxMiddleware:
    """Vary on what htmx asks for, carry messages into fragments, and turn redirects into ones that htmx sees."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if not is_html(response) and "Location" not in response:
            return response
        patch_vary_headers(response, VARY)
        if not request.headers.get("HX-Request"):
            return response
        if response.status_code in REDIRECTS and "Location" in response:
            return as_seen_by_htmx(request, response)
        append_messages(request, response)
        return response


def is_html(response: HttpResponse) -> bool:
    return str(response.get("Content-Type", "")).startswith("text/html")


def as_seen_by_htmx(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The redirect as a header that makes the browser load the page; cookies and Vary are kept."""
    response["HX-Redirect"] = back_to_the_page(request, response["Location"])
    del response["Location"]
    response.status_code = HTTPStatus.OK
    response.content = b""
    return response


def back_to_the_page(request: HttpRequest, location: str) -> str:
    """After signing in one wants the page one was on, not the fragment it had asked for."""
    login = resolve_url(settings.LOGIN_URL)
    page = request.htmx.current_url_abs_path  # type: ignore[attr-defined]
    if urlsplit(location).path != login or not page:
        return location
    return f"{login}?{urlencode({REDIRECT_FIELD_NAME: page})}"


def append_messages(request: HttpRequest, response: HttpResponse) -> None:
    """Add what waits to be said to the page's messages (an out-of-band swap), unless the fragment has them itself."""
    swapped = response.status_code in SWAPPED and not response.streaming
    if not swapped or b'id="messages"' in response.content:
        return
    messages = get_messages(request)
    if len(messages):
        body = render_to_string("components/_messages.html", {"messages": messages}, request)
        response.content = response.content + body.encode(response.charset or "utf-8")
