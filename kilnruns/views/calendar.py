"""The calendar that programs fetch: its address is its sign-in."""

from hashlib import sha256
from http import HTTPStatus

from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.views.decorators.http import require_safe

from kilnruns.actions.calendar import feed
from kilnruns.actions.reminding import calendar_of

SPAN_SECONDS = 300
MOST_WRONG = 20
"""Wrong addresses from one machine in that span; one that is right is answered all the same, or a stranger behind the
same router could shut it off."""
MOST_FETCHES = 30
"""Of one calendar in that span: programs ask some times a day."""


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    wishes = calendar_of(token)
    if wishes is None:
        wrong = _is_over(f"calendar-wrong-{request.META.get('REMOTE_ADDR', '')}", MOST_WRONG)
        return _slower() if wrong else HttpResponse(status=HTTPStatus.NOT_FOUND)
    if _is_over(f"calendar-{wishes.pk}", MOST_FETCHES):
        return _slower()
    body = feed(wishes=wishes, site=request.build_absolute_uri("/").rstrip("/"), at=timezone.now())
    response = HttpResponse(body, content_type="text/calendar; charset=utf-8")
    response["ETag"] = f'"{sha256(body).hexdigest()[:32]}"'
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    return get_conditional_response(request, etag=response["ETag"], response=response) or response


def _is_over(key: str, most: int) -> bool:
    cache.add(key, 0, SPAN_SECONDS)
    try:
        return cache.incr(key) > most
    except ValueError:  # its span has just ended
        return False


def _slower() -> HttpResponse:
    return HttpResponse(status=HTTPStatus.TOO_MANY_REQUESTS, headers={"Retry-After": str(SPAN_SECONDS)})
