"""After a change, the page's message offers to take it back."""

from collections.abc import Callable

from django.contrib import messages
from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.utils.text import capfirst

from yard.changes.kinds import kind_of
from yard.changes.recording import begun, written
from yard.models import Change

TAG = "undo-"
REDIRECTS = range(300, 400)


class OfferUndo:
    """Marks what was said of a change with its key, so that components/messages.html draws the button beside it.

    Views say what they did and redirect; what comes from an outbox has no page, and is taken back from its history.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.method != "POST":
            return self.get_response(request)
        with begun():
            response = self.get_response(request)
            if response.status_code in REDIRECTS and "Location" in response:
                offer(request, written())
        return response


def offer(request: HttpRequest, changes: list[Change]) -> None:
    last = changes[-1] if changes else None
    if last is None or last.by_id != request.user.pk or last.undoes_id or not kind_of(last.kind).undone:
        return
    said = [one for one in get_messages(request)._queued_messages if one.level == messages.SUCCESS]  # type: ignore[attr-defined]
    if said:  # a message can't be changed by any other way once it is said
        said[-1].extra_tags = f"{TAG}{last.pk}"
    else:
        messages.success(request, capfirst(kind_of(last.kind).words), extra_tags=f"{TAG}{last.pk}")
