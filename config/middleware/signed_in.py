"""Notes once an hour that a session is in use, and keeps an eye on nothing else."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from yard.actions.signins import is_due, note


class SignInMiddleware:
    """Sessions of before sign-ins were listed are noted when they are first used."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated and is_due(request):
            note(request, request.user)
        return self.get_response(request)
