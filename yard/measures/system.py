"""In which units this request is told things, and in which it typed them. Inside everything stays SI.

The choice is the person's, made anew for each request by `UnitsMiddleware`; papers, sheets and tasks choose with
`told_in`. Only form fields and what words figures ask for it.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.http import HttpRequest, HttpResponse

METRIC, IMPERIAL = "metric", "imperial"
FIELD = "units"
"""A form with a measured figure carries this where it was drawn in imperial units. Forms of before do not, and are
metric: so a page that stood open while its reader changed units, or waited on a phone, is read as it was typed."""

_told: ContextVar[str] = ContextVar("units_told", default=METRIC)
_typed: ContextVar[str] = ContextVar("units_typed", default=METRIC)


def told() -> str:
    """The units in which figures are shown now."""
    return _told.get()


def typed() -> str:
    """The units that bare figures in this request's form are in."""
    return _typed.get()


def imperial() -> bool:
    return _told.get() == IMPERIAL


@contextmanager
def told_in(system: str, typed: str | None = None) -> Iterator[None]:
    """What is shown, and unless said otherwise what is typed, is in `system`."""
    tokens = _told.set(system), _typed.set(system if typed is None else typed)
    try:
        yield
    finally:
        _told.reset(tokens[0])
        _typed.reset(tokens[1])


def units_of(user: Any) -> str:
    """What somebody chose; metric for strangers."""
    person = getattr(user, "person", None) if user is not None and user.is_authenticated else None
    return person.units if person else METRIC


class UnitsMiddleware:
    """Behind whoever signs in: each answer in its reader's units, each form in those it was typed in."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with told_in(METRIC):
            return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any) -> None:
        # a stranger's form has no figure of wood, and what a device sends is not a form: it is left unread
        _typed.set(said_in(request) if request.user.is_authenticated else METRIC)
        _told.set(units_of(request.user))


def said_in(request: HttpRequest) -> str:
    given = request.POST if request.method == "POST" else request.GET
    return IMPERIAL if given.get(FIELD) == IMPERIAL else METRIC
