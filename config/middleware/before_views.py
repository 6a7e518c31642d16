"""What a middleware is that only looks at what is asked for."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse


class BeforeViews:
    """A middleware that does no more than look at what is asked for: `process_view` answers None or in place of it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)
