"""Who may sign in: added with a password that is shown once, given a new one, shut out."""

import secrets
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.sessions.models import Session
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone

from yard.actions.roles import OWNER
from yard.models import Invitation, Person

WORDS = """
    alder aspen beech birch cedar cherry elm fir hazel holly larch lime maple oak pear pine plum rowan spruce walnut
    willow yew bark bolt burr chip cleft crown grain knot leaf log pith plank rail ring root sap stem twig
""".split()  # noqa: SIM905 - reads better than forty quoted words


def is_owner(person: Any) -> bool:
    return person.is_staff


def owners_only(view: Callable[..., Any]) -> Callable[..., Any]:
    """A view for owners: 403 for others, since sending them to sign in would send them round in circles."""

    @wraps(view)
    def guarded(request: Any, *args: Any, **kwargs: Any) -> Any:
        if not is_owner(request.user):
            raise PermissionDenied
        return view(request, *args, **kwargs)

    return guarded


def new_password() -> str:
    """Four words and a number, easy to type on a phone: 40**4 * 900, some 2.3e9, behind a slowed sign-in."""
    return "-".join([*(secrets.choice(WORDS) for _ in range(4)), str(100 + secrets.randbelow(900))])


def is_taken(name: str) -> bool:
    """Whether somebody signs in with this name already, in whatever letters."""
    return bool(get_user_model().objects.filter(username__iexact=name).exists())


@transaction.atomic
def add_person(*, name: str, role: str, by: Any) -> tuple[Any, str]:
    """A new person and the password to hand over; the name must be free. `role`: OWNER or a Role."""
    password = new_password()
    person = get_user_model().objects.create_user(username=name, password=password)
    set_role(person=person, role=role, by=by)
    return person, password


@transaction.atomic
def set_role(*, person: Any, role: str, by: Any) -> None:
    """From the next request on."""
    person.is_staff = role == OWNER
    person.save(update_fields=["is_staff"])
    if role != OWNER:
        _withdraw_invitations(person)
        Person.objects.update_or_create(user=person, defaults={"role": role})


def _withdraw_invitations(person: Any) -> None:
    """What somebody gave out while an owner lets nobody in any more."""
    Invitation.objects.filter(made_by=person, used_at=None, withdrawn_at=None).update(withdrawn_at=timezone.now())


def sessions_of(person: Any) -> list[Session]:
    """Where somebody is signed in, the one that lasts longest first."""
    lasting = Session.objects.filter(expire_date__gt=timezone.now()).order_by("-expire_date")
    return [one for one in lasting if one.get_decoded().get("_auth_user_id") == str(person.pk)]


def sign_out_everywhere(*, person: Any, keep: str | None, by: Any) -> int:
    """End somebody's sessions but the one of the key `keep`; how many were ended."""
    ended = [one for one in sessions_of(person) if one.session_key != keep]
    for one in ended:
        one.delete()
    return len(ended)


def renew_password(*, person: Any, by: Any) -> str:
    """A new password to hand over. Whoever is signed in with the old one is signed out."""
    password = new_password()
    person.set_password(password)
    person.save(update_fields=["password"])
    return password


@transaction.atomic
def set_admitted(*, person: Any, admitted: bool, by: Any) -> None:
    """Shut a person out, at once and on every phone, or let them in again."""
    person.is_active = admitted
    person.save(update_fields=["is_active"])
    if not admitted:
        _withdraw_invitations(person)
        sign_out_everywhere(person=person, keep=None, by=by)
