"""Keeps everybody to their role, at every address, before anything of a request is taken."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from yard.actions.roles import may_send, role_of
from yard.models import Role
from yard.receipts import answers, sent
from yard.receipts.middleware import is_kept

SAFE = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


class RoleMiddleware:
    """403 for what a role may not send, with words; what a phone's outbox sends is refused in its own terms, so that
    the phone keeps and shows it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        if request.method in SAFE or not request.user.is_authenticated or request.resolver_match is None:
            return None
        role = role_of(request.user)
        if may_send(role, request.resolver_match.url_name or "") or is_kept(request):
            return None
        if request.headers.get(sent.OUTBOX_HEADER):
            return answers.refused(HTTPStatus.FORBIDDEN, words_of(role))
        raise PermissionDenied(words_of(role))


def words_of(role: str) -> str:
    if role == Role.GUEST:
        return _("You are a guest here: you may look, not change.")
    return _("This is decided by a kiln operator or an owner.")
