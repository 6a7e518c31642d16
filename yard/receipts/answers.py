"""The answer to the outbox: small JSON in place of redirects and pages."""

from http import HTTPStatus
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.messages.storage.base import BaseStorage
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import resolve_url
from django.utils.translation import gettext as _

from yard.receipts.refusals import WHOLE, refusals

REDIRECTS = range(300, 400)


class Said(BaseStorage):
    """Messages of a request that shows no page: kept for its answer, and out of the reader's next page."""

    def _get(self, *args: Any, **kwargs: Any) -> tuple[list[Any], bool]:
        return [], True

    def _store(self, *args: Any, **kwargs: Any) -> list[Any]:
        return []


def is_redirect(response: HttpResponse) -> bool:
    return response.status_code in REDIRECTS and "Location" in response


def in_short(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The answer as JSON: {receipt, location, said[, sort_out]}, or what was wrong.

    What is JSON already and failures of ours stay as they are.
    """
    if is_redirect(response) and urlsplit(response["Location"]).path == resolve_url(settings.LOGIN_URL):
        return refused(HTTPStatus.UNAUTHORIZED, _("Sign in again; what waits is sent then."))
    if is_redirect(response):
        return done(request, response["Location"])
    if response.status_code >= HTTPStatus.INTERNAL_SERVER_ERROR or isinstance(response, JsonResponse):
        return response
    if response.status_code == HTTPStatus.UNPROCESSABLE_ENTITY:
        found = refusals(response.content.decode(response.charset or "utf-8"))
        return JsonResponse({"errors": found or {WHOLE: [not_accepted()]}}, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    if response.status_code == HTTPStatus.FORBIDDEN:
        # a form's token that is out of date ends here too, before anything is looked at
        is_token_good = getattr(request, "csrf_processing_done", False)
        why = not_allowed() if is_token_good else _("Sign in again; what waits is sent then.")
        return refused(HTTPStatus.FORBIDDEN, why)
    if response.status_code == HTTPStatus.NOT_FOUND:
        return refused(HTTPStatus.NOT_FOUND, _("What this is about is no longer in the yard."))
    status = max(response.status_code, HTTPStatus.UNPROCESSABLE_ENTITY)
    return refused(HTTPStatus(status) if status in set(HTTPStatus) else HTTPStatus.CONFLICT, not_accepted())


def done(request: HttpRequest, location: str) -> JsonResponse:
    """The receipt of what was applied, now or before."""
    key = getattr(request, "receipt_key", None)
    said = getattr(request, "receipt_said", [])
    body = {"receipt": str(key) if key else None, "location": location, "said": said}
    return JsonResponse(body | ({"sort_out": True} if getattr(request, "receipt_why", "") else {}))


def refused(status: HTTPStatus, why: str) -> JsonResponse:
    return JsonResponse({"errors": {WHOLE: [why]}}, status=status)


def not_accepted() -> str:
    return _("The yard did not accept this.")


def not_allowed() -> str:
    return _("You may not do this. Ask an owner of the yard.")
