"""Sorting out what phones sent and the yard could not place: put where it belongs, or dropped with a reason.

What went with it goes along, in the order in which it was recorded. Each form is sent once more to its ordinary view,
as its sender's and of its own time, all in one transaction.

Only who may send such a form settles it. What came while its sender might send it is not lost when they no longer may
(shut out, or with less of a role): it is taken in the name of the one who settles it, and the list says so to both.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from http import HTTPStatus
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from yard.actions.roles import least_to_send, may_send, role_of, words_of
from yard.actions.tags import make_blank
from yard.models import Receipt, Tag, Why, keptwords
from yard.models.tagcode import shown
from yard.receipts import UnplacedError, address_name, code_in, refusals, replayed


@dataclass(slots=True)
class Outcome:
    """Where it went; what the views said; what of the followers could not go along."""

    location: str = ""
    code: str = ""
    said: list[str] = field(default_factory=list)
    left: list[Receipt] = field(default_factory=list)


@transaction.atomic
def put(*, receipt: Receipt, code: str | None, how: str, by: Any, at: datetime, request: HttpRequest) -> Outcome:
    """Apply it to the stack or tag of `code`, or as it was sent for None; `how` is told in the list (see `keptwords`).

    Raises ValidationError with the view's own words when it is not accepted there; nothing is done then.
    """
    receipt = _locked(receipt, by)
    location, said = _applied(receipt, code, by, request)
    outcome = Outcome(location, code_in(location), said)
    _settled(receipt, location, outcome.code, _told(how, receipt, by), by, at)
    _followers_to(receipt, outcome, how, by, at, request)
    return outcome


@transaction.atomic
def put_under_tag(*, receipt: Receipt, code: str, by: Any, at: datetime, request: HttpRequest) -> Outcome:
    """Keep it as something of its own: under the blank tag of `code`, or under a fresh one for an empty code."""
    new = code or make_blank(count=1, by=by)[0].code
    if not Tag.objects.blank().filter(code=new).exists():
        raise ValidationError(_("That tag is not blank; take another, or leave it empty for a fresh one."))
    how = keptwords.UNDER_TAG % {"code": shown(new)}
    return put(receipt=receipt, code=new, how=how, by=by, at=at, request=request)


@transaction.atomic
def merge(*, receipt: Receipt, code: str, by: Any, at: datetime, request: HttpRequest) -> Outcome:
    """It was entered twice: the entry that stands there stays, this one is dropped, and what followed goes there."""
    receipt = _locked(receipt, by)
    outcome = Outcome(reverse("stack", args=[code]), code)
    how = keptwords.SAME % {"code": shown(code)}
    _settled(receipt, outcome.location, code, how, by, at)
    _followers_to(receipt, outcome, how, by, at, request)
    return outcome


@transaction.atomic
def drop(*, receipt: Receipt, reason: str, by: Any, at: datetime) -> int:
    """Apply it nowhere, nor what goes with it; all stays listed with the reason. Returns how many were dropped."""
    receipt = _locked(receipt, by)
    dropped = [receipt, *waiting_followers(receipt)]
    for one in dropped:
        _refuse_without_the_right(one, by)
        _settled(one, "", "", keptwords.DROPPED % {"reason": reason}, by, at)
    return len(dropped)


def waiting_followers(receipt: Receipt) -> Iterable[Receipt]:
    """What goes with it and is to be sorted out, in the order in which it was recorded."""
    rows = Receipt.objects.to_sort_out().filter(after=receipt).select_related("user")
    return list(rows.order_by("taken_at", "received_at"))


def why_not_settle(receipt: Receipt, person: Any) -> str:
    """Why this person may not say what becomes of it; empty when they may."""
    name = address_name(receipt.path)
    return "" if may_send(role_of(person), name) else words_of(least_to_send(name))


def sender_still_may(receipt: Receipt) -> bool:
    sender = receipt.user
    return sender.is_active and may_send(role_of(sender), address_name(receipt.path))


def _refuse_without_the_right(receipt: Receipt, by: Any) -> None:
    reason = why_not_settle(receipt, by)
    if reason:
        raise ValidationError(reason)


def _locked(receipt: Receipt, by: Any) -> Receipt:
    _refuse_without_the_right(receipt, by)
    fresh = Receipt.objects.select_for_update(of=("self",)).select_related("user").get(pk=receipt.pk)
    if fresh.state != Receipt.State.TO_SORT_OUT:
        raise ValidationError(_("Someone sorted this out already."))
    return fresh


def _applied(receipt: Receipt, code: str | None, by: Any, request: HttpRequest) -> tuple[str, list[str]]:
    """Where the view leads after doing it, and what it said."""
    _refuse_without_the_right(receipt, by)
    try:
        response, said = replayed(receipt, code, request, receipt.user if sender_still_may(receipt) else by)
    except UnplacedError as error:
        raise ValidationError(error.told or str(Why(error.why).label)) from error
    if response.status_code >= HTTPStatus.BAD_REQUEST or "Location" not in response:
        found = refusals(response.content.decode())
        raise ValidationError([text for texts in found.values() for text in texts] or [Why.REFUSED.label])
    return response["Location"], said


def _followers_to(leader: Receipt, outcome: Outcome, how: str, by: Any, at: datetime, request: HttpRequest) -> None:
    """Each to where its leader went. What is not accepted there stays to be sorted out by itself, and says why."""
    for one in waiting_followers(leader):
        try:
            with transaction.atomic():
                code = outcome.code if one.subject == leader.subject and outcome.code else None
                location, _said = _applied(one, code, by, request)
                _settled(one, location, outcome.code, _told(how, one, by), by, at)
        except ValidationError as error:
            one.why, one.after, one.said = Why.REFUSED, None, error.messages
            one.save()
            outcome.left.append(one)


def _told(how: str, receipt: Receipt, by: Any) -> str:
    """How it was settled, and in whose name where it is not the sender's."""
    if sender_still_may(receipt):
        return how
    words = {"how": how, "who": by, "sender": receipt.user}
    return keptwords.IN_THE_NAME_OF % words


def _settled(receipt: Receipt, location: str, code: str, how: str, by: Any, at: datetime) -> None:
    receipt.state, receipt.settled_at, receipt.settled_by = Receipt.State.SETTLED, at, by
    receipt.settled_code, receipt.settled_how = code, how[:300]
    receipt.location = location or receipt.location
    receipt.save()
