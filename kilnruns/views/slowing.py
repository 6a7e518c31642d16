"""Addresses that strangers may try are slowed for whoever tries wrong ones. The counts are in the process's cache."""

from http import HTTPStatus

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse

SPAN_SECONDS = 300
MOST_WRONG = 20
"""Wrong addresses from one machine in that span; one that is right is answered all the same, or a stranger behind the
same router could shut it off."""


def is_over(key: str, most: int) -> bool:
    """Count one more under the key: whether it is now more than `most` in the span."""
    cache.add(key, 0, SPAN_SECONDS)
    try:
        return cache.incr(key) > most
    except ValueError:  # its span has just ended
        return False


def tried_too_often(request: HttpRequest, what: str) -> bool:
    """Count one wrong address of this machine."""
    return is_over(f"{what}-wrong-{request.META.get('REMOTE_ADDR', '')}", MOST_WRONG)


def slower() -> HttpResponse:
    return HttpResponse(status=HTTPStatus.TOO_MANY_REQUESTS, headers={"Retry-After": str(SPAN_SECONDS)})
