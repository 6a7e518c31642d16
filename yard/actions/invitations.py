"""Invitations: a link or its QR makes one person, once, until it expires."""

import secrets
from datetime import datetime, timedelta
from hashlib import sha256
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from yard.actions.people import make_person
from yard.changes import PEOPLE, Watched, kept
from yard.models import Invitation, Person

LASTS = timedelta(days=2)
TOKEN_BYTES = 24


def invite(*, role: str, by: Any, at: datetime) -> str:
    """The token of a new invitation: nobody can be shown it again."""
    token = secrets.token_urlsafe(TOKEN_BYTES)
    values = {"role": role, "made_by": by, "made_at": at, "expires_at": at + LASTS}
    with kept("invited", Watched([PEOPLE]), by=by, at=at) as act:
        act.has_made(Invitation.objects.create(token_hash=_hash(token), **values))
    return token


def withdraw(*, invitation: Invitation, by: Any, at: datetime) -> None:
    with kept("invitation_withdrawn", _of_invitation(invitation), by=by, at=at):
        invitation.withdrawn_at = at
        invitation.save(update_fields=["withdrawn_at"])


def _of_invitation(invitation: Invitation) -> Watched:
    return Watched([PEOPLE], [Invitation.objects.filter(pk=invitation.pk)])


def open_invitation(token: str, at: datetime) -> Invitation | None:
    """The one of a token, while it can be taken."""
    found = Invitation.objects.filter(token_hash=_hash(token)).first()
    return found if found and found.is_open(at) else None


@transaction.atomic
def take_invitation(*, token: str, name: str, password: str, at: datetime) -> Any:
    """Make the person who was invited. Raises ValidationError for an invitation that can't be taken any more, and for a
    name that somebody has."""
    found = Invitation.objects.select_for_update().filter(token_hash=_hash(token)).first()
    if found is None or not found.is_open(at):
        raise ValidationError(_("This invitation was used, withdrawn, or is too old. Ask for another."))
    with kept("invitation_used", _of_invitation(found), by=None, at=at) as act:
        act.by = person = make_person(name=name, password=password, role=found.role)
        act.has_made(person, *Person.objects.filter(user=person))
        found.used_at, found.used_by = at, person
        found.save(update_fields=["used_at", "used_by"])
    return person


def _hash(token: str) -> str:
    return sha256(token.encode()).hexdigest()
