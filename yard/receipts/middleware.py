"""Applies each form that comes under a key once, whatever view it is for."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.translation import gettext as _

from yard.models import Receipt
from yard.receipts import answers, sent
from yard.receipts.clock import clock_words, moment
from yard.receipts.placing import placed


class ReceiptMiddleware:
    """Under a key: effect and receipt in one transaction, and the kept answer to the same form sent again."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        outbox = request.headers.get(sent.OUTBOX_HEADER)
        request.receipt_live = outbox == "live"  # type: ignore[attr-defined]
        if outbox == "1":
            request._messages = answers.Said(request)  # type: ignore[attr-defined]
        if outbox and sent.is_of_another(request):
            return answers.refused(HTTPStatus.UNAUTHORIZED, _("Someone else recorded this; they send it themselves."))
        response = self.get_response(request)
        return answers.in_short(request, response) if outbox else response

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: Any, kwargs: Any
    ) -> HttpResponse | None:
        if request.method != "POST" or not request.user.is_authenticated:
            return None
        content = sent.digest(request) if _may_have_key(request) else ""
        try:
            key = sent.key_of(request, content)
        except sent.BadKeyError:
            return answers.refused(HTTPStatus.BAD_REQUEST, _("The key of this form is no UUID."))
        if key is None:
            return None
        request.receipt_key = key  # type: ignore[attr-defined]
        try:
            return once(request, key, content, lambda receipt: placed(request, receipt, view, kwargs))
        except PermissionDenied as error:
            if sent.OUTBOX_HEADER not in request.headers:
                raise
            return answers.refused(HTTPStatus.FORBIDDEN, str(error) or answers.not_allowed())


def _may_have_key(request: HttpRequest) -> bool:
    return sent.KEY_HEADER in request.headers or sent.KEY_FIELD in request.POST


def is_kept(request: HttpRequest) -> bool:
    """Whether this very form was applied before, as this person's: then it changes nothing and gets its answer."""
    if request.method != "POST" or not _may_have_key(request):
        return False
    content = sent.digest(request)
    try:
        key = sent.key_of(request, content)
    except sent.BadKeyError:
        return False
    return key is not None and Receipt.objects.filter(key=key, digest=content, user=request.user.pk).exists()


def once(request: HttpRequest, key: UUID, content: str, answer: Callable[[Receipt], HttpResponse]) -> HttpResponse:
    """The answer to a form, from its receipt if it was applied before.

    A redirect is how views say that it was done: then the receipt stays. A refusal takes back whatever was written
    and leaves no receipt, so that the form may be mended and sent again; a page with nothing done leaves none either.
    """
    known = {
        "user": request.user,
        "path": request.get_full_path()[:400],
        "digest": content,
        "taken_at": moment(request),
    }
    with transaction.atomic():
        # A second sender of the same key waits here until the first one's transaction ends.
        receipt, is_new = Receipt.objects.get_or_create(key=key, defaults=known)
        if not is_new:
            return _again(request, receipt, content)
        response = answer(receipt)
        if response.status_code >= HTTPStatus.BAD_REQUEST:
            transaction.set_rollback(True)
        elif answers.is_redirect(response):
            _write(request, receipt, response["Location"])
        else:
            receipt.delete()
    return response


def _write(request: HttpRequest, receipt: Receipt, location: str) -> None:
    for words in clock_words(request):
        messages.warning(request, words)
    # looked at, not walked through: they are still to be shown, and the offer to undo goes beside the last of them
    queued = getattr(messages.get_messages(request), "_queued_messages", [])
    receipt.location = location[:400]
    receipt.said = request.receipt_said = [str(message) for message in queued]  # type: ignore[attr-defined]
    request.receipt_why = receipt.why  # type: ignore[attr-defined]
    receipt.save()


def _again(request: HttpRequest, receipt: Receipt, content: str) -> HttpResponse:
    """The kept answer; a conflict when the key came with something else, or from someone else."""
    if receipt.digest != content or receipt.user_id != request.user.pk:
        return answers.refused(HTTPStatus.CONFLICT, _("Another form was sent under this key before."))
    request.receipt_said, request.receipt_why = receipt.said, receipt.why  # type: ignore[attr-defined]
    for said in receipt.said:
        messages.success(request, said)
    return HttpResponseRedirect(receipt.location or "/")
