"""After a change, the page's message offers to take it back."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.utils.text import capfirst

from yard import cookies
from yard.changes.kinds import UNDONE, kind_of
from yard.changes.recording import begun, written
from yard.models import Change

TAG, AGAIN = "undo-", "redo-"
COOKIE = "drystack_undo"
COOKIE_SECONDS = 300
REDIRECTS = range(300, 400)
MOST_DIGITS = 18


class OfferUndo:
    """Marks what was said of a change with its key, so that components/_message.html draws the button beside it.

    Views say what they did and redirect. What waited in an outbox is answered without a page: the change is noted in a
    cookie for the page that the phone opens next, if it does so soon; later the history has it.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method == "POST":
            return self._posted(request)
        kind, _dash, key = request.COOKIES.get(COOKIE, "").partition("-")
        is_noted = key.isdecimal() and len(key) <= MOST_DIGITS and request.user.is_authenticated
        if is_noted:
            say(request, kind, key)
        response = self.get_response(request)
        if is_noted:
            response.delete_cookie(COOKIE)
        return response

    def _posted(self, request: HttpRequest) -> HttpResponse:
        with begun():
            response = self.get_response(request)
            last = offered(request, written())
        is_applied = response.status_code == HTTPStatus.OK and getattr(request, "receipt_key", None)
        is_live = is_applied and getattr(request, "receipt_live", False)
        if last and (is_live or (response.status_code in REDIRECTS and "Location" in response)):
            mark(request, last)
        elif last and is_applied:
            cookies.keep(request, response, COOKIE, f"{last.kind}-{last.pk}", seconds=COOKIE_SECONDS)
        return response


def offered(request: HttpRequest, changes: list[Change]) -> Change | None:
    """The last change, if the one who asked may take it back."""
    last = changes[-1] if changes else None
    if last is None or last.by_id != request.user.pk:
        return None
    return last if last.kind == UNDONE or kind_of(last.kind).undone else None


def mark(request: HttpRequest, change: Change) -> None:
    said: Any = get_messages(request)
    done = [one for one in said._queued_messages if one.level == messages.SUCCESS]
    if done:  # no other way leads to a message that is said already
        done[-1].extra_tags = f"{AGAIN if change.kind == UNDONE else TAG}{change.pk}"
    else:
        say(request, change.kind, change.pk)


def say(request: HttpRequest, kind: str, key: str | int) -> None:
    messages.success(request, f"{capfirst(kind_of(kind).words)}.", extra_tags=f"{TAG}{key}")
