"""Addresses that strangers may try are slowed for whoever tries wrong ones; all processes count together."""

from datetime import timedelta
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from yard.actions.tries import count_try

SPAN_SECONDS = 300
MOST_WRONG = 20
"""Wrong addresses from one machine in that span; one that is right is answered all the same, or a stranger behind the
same router could shut it off."""


def is_over(key: str, most: int) -> bool:
    """Count one more under the key: whether it is now more than `most` in the span."""
    return count_try(of=key, span=timedelta(seconds=SPAN_SECONDS), at=timezone.now()) > most


def tried_too_often(request: HttpRequest, what: str) -> bool:
    """Count one wrong address of this machine."""
    return is_over(f"{what}-wrong-{request.META.get('REMOTE_ADDR', '')}", MOST_WRONG)


def slower() -> HttpResponse:
    return HttpResponse(status=HTTPStatus.TOO_MANY_REQUESTS, headers={"Retry-After": str(SPAN_SECONDS)})
