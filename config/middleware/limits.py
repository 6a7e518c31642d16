"""How often one may send what costs much or can be guessed at. One table; all processes count together.

Sign-in by name and address is slowed by django-axes besides; wrong tokens of papers, calendars and sensors are counted
where they are looked up (`kilnruns/views/slowing.py`), so that a right one is always answered.
"""

from collections.abc import Callable
from datetime import timedelta
from http import HTTPStatus
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _

from config.middleware.before_views import BeforeViews
from yard.actions.tries import count_try
from yard.receipts import answers, sent

SPAN = timedelta(minutes=5)
STRANGERS = {"login": 60, "sign_in_code": 60, "invitation": 30, "welcome": 30}
"""Forms of who is not signed in, by address: a yard's phones may all come from one router."""
PEOPLE = {"exchange_sheet": 30, "place_weather": 60, "backups": 10, "backup_check": 20, "push_device_try": 20}
PEOPLE |= {"second_factor": 20, "second_factor_codes": 20, "second_factor_end": 20}
"""Forms of a person."""
FILES = 300
"""Forms with files of a person, at whatever address: a phone may come home with the photos of a week."""


class LimitsMiddleware(BeforeViews):
    """429 for what was sent more often than the table says; a phone's outbox keeps it and sends it later."""

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        if request.method != "POST" or request.resolver_match is None:
            return None
        return slowed(request) if _is_over(request, request.resolver_match.url_name or "") else None


def _is_over(request: HttpRequest, name: str) -> bool:
    if not request.user.is_authenticated:
        return name in STRANGERS and _counted(f"{name} {request.META.get('REMOTE_ADDR', '')}", STRANGERS[name])
    if name in PEOPLE and _counted(f"{name} {request.user.pk}", PEOPLE[name]):
        return True
    has_files = request.content_type == "multipart/form-data" and bool(request.FILES)
    return has_files and _counted(f"files {request.user.pk}", FILES)


def _counted(of: str, most: int) -> bool:
    return count_try(of=of, span=SPAN, at=timezone.now()) > most


def slowed(request: HttpRequest) -> HttpResponse:
    if request.headers.get(sent.OUTBOX_HEADER):
        response: HttpResponse = answers.refused(HTTPStatus.TOO_MANY_REQUESTS, words())
    else:
        response = render(request, "429.html", {"words": words()}, status=HTTPStatus.TOO_MANY_REQUESTS)
    response["Retry-After"] = str(int(SPAN.total_seconds()))
    return response


def words() -> str:
    return _("Too much was sent in a short time. Wait five minutes, then send it again.")
