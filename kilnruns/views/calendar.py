"""The calendar that programs fetch: its address is its sign-in."""

from hashlib import sha256
from http import HTTPStatus

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from kilnruns.actions.calendar import feed
from kilnruns.actions.reminding import calendar_of
from kilnruns.views.slowing import is_over, slower, tried_too_often

MOST_FETCHES = 30
"""Of one calendar in that span: programs ask some times a day."""


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    wishes = calendar_of(token)
    if wishes is None:
        return slower() if tried_too_often(request, "calendar") else HttpResponse(status=HTTPStatus.NOT_FOUND)
    if is_over(f"calendar-{wishes.pk}", MOST_FETCHES):
        return slower()
    body = feed(wishes=wishes, site=request.build_absolute_uri("/").rstrip("/"), at=timezone.now())
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["ETag"] = f'"{sha256(body).hexdigest()[:32]}"'
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    return get_conditional_response(request, etag=response["ETag"], response=response) or response
