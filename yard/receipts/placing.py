"""Where a form from the outbox goes: to its view, after its leader, or to what a person has to sort out."""

import json
from collections.abc import Callable
from http import HTTPStatus
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db import transaction
from django.db.models import F, Q
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.translation import gettext as _

from yard.models import Receipt, Why
from yard.models.tagcode import normalise, shown
from yard.receipts import answers, sent
from yard.receipts.clock import clock_notes, right_day
from yard.receipts.meanwhile import SEEN_FIELD, SEEN_HEADER, UnplacedError, is_from_outbox

SAWN_FIELD = "cut_on"
AFTER_HEADER = "X-Drystack-After"
OF_THE_TAG = (Why.USED, Why.UNKNOWN, Why.TAKEN)
"""Reasons that concern whatever else the same person recorded under the same tag."""


def placed(
    request: HttpRequest, receipt: Receipt, view: Callable[..., HttpResponse], kwargs: dict[str, Any]
) -> HttpResponse:
    """The view's answer. From the outbox, what it can't place is kept in the receipt, and so is what goes with that."""
    if not is_from_outbox(request):
        return view(request, **kwargs)
    receipt.subject = subject_of(request, kwargs)
    leader = _leader(request, receipt)
    if leader and not leader.went_somewhere:
        return keep(request, receipt, Why.FOLLOWS, leader)
    if leader and leader.settled_code and "code" in kwargs:
        kwargs = {**kwargs, "code": leader.settled_code}
        names = {"old": shown(receipt.subject), "new": shown(leader.settled_code)}
        messages.info(request, _("%(old)s was sorted out to be %(new)s: this goes there.") % names)
    try:
        with transaction.atomic():
            response = view(request, **kwargs)
        receipt.subject = ""
        return response
    except UnplacedError as found:
        leader = _earlier(receipt) if found.why in OF_THE_TAG[:2] else None
        return keep(request, receipt, Why(found.why), leader, found.told)


def subject_of(request: HttpRequest, kwargs: dict[str, Any]) -> str:
    """The tag's code that a form is about; empty where it is about none."""
    return normalise(str(kwargs.get("code") or request.GET.get("tag", "")))[:20]


def keep(
    request: HttpRequest, receipt: Receipt, why: Why, leader: Receipt | None = None, told: str = ""
) -> HttpResponse:
    """Keep the form whole in its receipt; a person says what becomes of it. `told`: why, in more words.

    What has files is refused, so that they stay on the phone, until the rest is sorted out.
    """
    if request.FILES:
        text = _("%(why)s The photo stays on this phone; send it again when that is sorted out.")
        return answers.refused(HTTPStatus.CONFLICT, text % {"why": told or why.label})
    receipt.state, receipt.why, receipt.after = Receipt.State.TO_SORT_OUT, why, leader
    # sent once more when it is settled, it has its own time, but the phone's clock is no longer known
    fields = sent.fields(request)
    receipt.fields = [[name, right_day(request, value) if name == SAWN_FIELD else value] for name, value in fields]
    if SEEN_FIELD not in request.POST and SEEN_HEADER in request.headers:
        receipt.fields.append([SEEN_FIELD, request.headers[SEEN_HEADER]])
    receipt.words, receipt.clock = _words(request), list(clock_notes(request))
    messages.warning(request, f"{told or why.label} " + _("It is kept whole, to be sorted out."))
    return HttpResponseRedirect(receipt.get_absolute_url())


def _words(request: HttpRequest) -> list[list[str]]:
    """What was typed, with the labels of its fields, as the phone tells it; nothing where it tells none."""
    try:
        told = json.loads(request.POST.get(sent.WORDS_FIELD, "[]"))
        return [[str(label)[:200], str(value)[:2000]] for label, value in told][:100]
    except (ValueError, TypeError, RecursionError):
        return []


def _leader(request: HttpRequest, receipt: Receipt) -> Receipt | None:
    """What this one goes with: named by the phone, or by the same person under the same tag."""
    mine = Receipt.objects.filter(user=receipt.user_id).exclude(why="").select_related("after")
    try:
        named = mine.filter(key=UUID(request.headers.get(AFTER_HEADER, ""))).first()
    except ValueError:
        named = None
    if named or not receipt.subject or "tag" in request.GET:
        return _root(named) if named else None
    same = mine.filter(subject=receipt.subject, why__in=OF_THE_TAG, taken_at__lte=receipt.taken_at)
    waiting = Q(state=Receipt.State.TO_SORT_OUT, why=Why.TAKEN)
    settled = Q(state=Receipt.State.SETTLED, settled_at__gte=receipt.taken_at)
    return same.filter(waiting | settled).order_by(F("settled_at").desc(nulls_first=True), "received_at").first()


def _earlier(receipt: Receipt) -> Receipt | None:
    """What of the same person and tag is to be sorted out already."""
    waiting = Receipt.objects.to_sort_out().filter(user=receipt.user_id, subject=receipt.subject, why__in=OF_THE_TAG)
    return waiting.filter(after=None).order_by("received_at").first() if receipt.subject else None


def _root(receipt: Receipt) -> Receipt:
    waits = receipt.after is not None and receipt.after.state == Receipt.State.TO_SORT_OUT
    return receipt.after if waits and receipt.after else receipt
