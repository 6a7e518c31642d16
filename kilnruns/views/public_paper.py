"""The one page that a stranger may see: a single paper, by the unguessable token in its address, if an owner says so.

It shows that paper's frozen facts and nothing else of the yard: no navigation, no scripts, no cookie. It is drawn
without the request, so that nothing of a reader who happens to be signed in can come into it.
"""

from http import HTTPStatus
from typing import Any

from csp.constants import NONE, SELF
from csp.decorators import csp
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from kilnruns.actions.papers import link_of
from kilnruns.templatetags.paper_words import told
from kilnruns.views.slowing import slower, tried_too_often

POLICY = {
    "default-src": [NONE],
    "style-src": [SELF],
    "img-src": [SELF],
    "form-action": [NONE],
    "frame-ancestors": [NONE],
    "base-uri": [NONE],
}
# What is to be said of it may change at any minute, and the address must not be told on or be found by searching.
HEADERS = {
    "Cache-Control": "no-store",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Referrer-Policy": "no-referrer",
}


@login_not_required
@require_safe
@csp(POLICY)  # type: ignore[arg-type]  # its own type knows no arguments of the address
def paper_public(request: HttpRequest, token: str) -> HttpResponse:
    link = link_of(token)
    if link is None:
        if tried_too_often(request, "paper"):
            return _with_headers(slower())
        return _page("paper_unknown.html", HTTPStatus.NOT_FOUND)
    if link.paper.withdrawn_at or not link.is_open:
        return _page("paper_closed.html", HTTPStatus.GONE, withdrawn_at=link.paper.withdrawn_at)
    return _page("paper_public.html", HTTPStatus.OK, told=told(link.paper))


def _page(template: str, status: HTTPStatus, **context: Any) -> HttpResponse:
    return _with_headers(HttpResponse(render_to_string(f"kilnruns/{template}", context), status=status))


def _with_headers(response: HttpResponse) -> HttpResponse:
    for name, value in HEADERS.items():
        response[name] = value
    return response
