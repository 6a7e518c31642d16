"""A connection as bad as one likes: what a phone sends is lost, or its answer is, or the server is out of order."""

import socket
from collections.abc import Callable, Iterator

import pytest
from django.http import HttpRequest, HttpResponse

from yard.receipts.middleware import ReceiptMiddleware
from yard.receipts.sent import KEY_HEADER, OUTBOX_HEADER

Fate = str
"""`pass`, `request lost`, `answer lost`, or the status of a server that is out of order: `500`, `503`."""


class Losses:
    """`decide` says what befalls a form from the outbox; `sent` are the keys that came, `applied` those let through."""

    def __init__(self) -> None:
        self.decide: Callable[[HttpRequest], Fate] = lambda request: "pass"
        self.sent: list[str] = []
        self.headers: list[dict[str, str]] = []

    def next(self, *fates: Fate) -> None:
        """What befalls the next ones; all pass afterwards."""
        left = list(fates)
        self.decide = lambda request: left.pop(0) if left else "pass"

    def answer(self, request: HttpRequest, real: Callable[[HttpRequest], HttpResponse]) -> HttpResponse:
        if OUTBOX_HEADER not in request.headers:
            return real(request)
        self.sent.append(request.headers[KEY_HEADER])
        self.headers.append(dict(request.headers))
        fate = self.decide(request)
        if fate.isdigit():
            return HttpResponse("out of order", status=int(fate))
        if fate == "request lost":
            hang_up(request)
            return HttpResponse(status=503)
        response = real(request)
        if fate == "answer lost":
            hang_up(request)
        return response


def hang_up(request: HttpRequest) -> None:
    """Ends the connection under the request: what is written to it no longer arrives."""
    connection = request.META["wsgi.input"]._read.__self__.raw._sock
    connection.shutdown(socket.SHUT_RDWR)


@pytest.fixture
def losses(monkeypatch: pytest.MonkeyPatch) -> Iterator[Losses]:
    """Between the phone and the live server, which has loaded its middleware long ago."""
    found = Losses()
    real = ReceiptMiddleware.__call__
    monkeypatch.setattr(
        ReceiptMiddleware, "__call__", lambda self, request: found.answer(request, lambda sent: real(self, sent))
    )
    yield found
