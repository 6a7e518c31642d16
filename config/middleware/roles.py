"""Keeps everybody to their role, at every address, before anything of a request is taken."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse

from config.middleware.before_views import BeforeViews
from yard.actions.roles import least_to_see, least_to_send, may_see, may_send, role_of, words_of
from yard.receipts import answers, sent
from yard.receipts.middleware import is_kept

SAFE = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})


class RoleMiddleware(BeforeViews):
    """403 for what a role may not send, with words; what a phone's outbox sends is refused in its own terms, so that
    the phone keeps and shows it."""

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        if not request.user.is_authenticated or request.resolver_match is None:
            return None
        role, name = role_of(request.user), request.resolver_match.url_name or ""
        if request.method in SAFE:
            if not may_see(role, name):
                raise PermissionDenied(words_of(least_to_see(name)))
            return None
        if may_send(role, name) or is_kept(request):
            return None
        if request.headers.get(sent.OUTBOX_HEADER):
            return answers.refused(HTTPStatus.FORBIDDEN, words_of(least_to_send(name)))
        raise PermissionDenied(words_of(least_to_send(name)))
