"""Who may sign in: added with a password that is shown once, given a new one, shut out."""

import secrets
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.sessions.models import Session
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext as _

from yard.actions.roles import OWNER
from yard.changes import PEOPLE, Watched, kept
from yard.models import Invitation, Person, SignIn

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
    """A new person and the password to hand over. `role`: OWNER or a Role. Raises ValidationError for a name that
    somebody has."""
    _owners_in_turn(by)
    password = new_password()
    with kept("person_added", Watched([PEOPLE]), by=by) as act:
        person = make_person(name=name, password=password, role=role)
        act.has_made(person, *Person.objects.filter(user=person))
    return person, password


@transaction.atomic
def make_person(*, name: str, password: str, role: str) -> Any:
    """Raises ValidationError for a name that somebody has, even where another took it at the same moment."""
    taken = ValidationError(_("Somebody has this name already; choose another."))
    list(_owners().select_for_update())  # one after the other: names that differ in their letters' case alone, too
    if is_taken(name):
        raise taken
    try:
        with transaction.atomic():
            person = get_user_model().objects.create_user(username=name, password=password)
    except IntegrityError as error:
        raise taken from error
    _write_role(person, role)
    return person


@transaction.atomic
def set_role(*, person: Any, role: str, by: Any) -> None:
    """From the next request on. Raises ValidationError where the one who asks is no owner any more, or nobody would be
    one."""
    owners = _owners_in_turn(by)
    if role != OWNER:
        _leave_an_owner(owners, person)
    with kept("role_set", _of_person(person), by=by) as act:
        _write_role(person, role)
        act.has_made(*Person.objects.filter(user=person))
        if role != OWNER:
            _withdraw_invitations(person)


def _of_person(person: Any, *, named: bool = False) -> Watched:
    """`named`: told of even where nothing changes that may be kept."""
    rows = [get_user_model().objects.filter(pk=person.pk), Person.objects.filter(user=person.pk)]
    return Watched([PEOPLE], [*rows, Invitation.objects.filter(made_by=person.pk)], named=[person] if named else [])


def _write_role(person: Any, role: str) -> None:
    person.is_staff = role == OWNER
    person.save(update_fields=["is_staff"])
    if role != OWNER:
        Person.objects.update_or_create(user=person, defaults={"role": role})


def _owners() -> Any:
    return get_user_model().objects.filter(is_staff=True, is_active=True).order_by("pk")


def _owners_in_turn(by: Any) -> set[Any]:
    """The owners as they are now, their rows locked, so that two who change each other do so one after the other."""
    owners = {one.pk for one in _owners().select_for_update()}
    if by is not None and by.pk not in owners:
        raise ValidationError(_("You are no owner any more, so this was not changed."))
    return owners


def _leave_an_owner(owners: set[Any], person: Any) -> None:
    if owners == {person.pk}:
        raise ValidationError(_("This is the only owner. Make somebody else an owner first."))


def _withdraw_invitations(person: Any) -> None:
    """What somebody gave out while an owner lets nobody in any more."""
    Invitation.objects.filter(made_by=person, used_at=None, withdrawn_at=None).update(withdrawn_at=timezone.now())


def sessions_of(person: Any) -> list[Session]:
    """Where somebody is signed in, the one that lasts longest first, by the list of sign-ins.

    Those alone that are in no list are looked into: strangers', and of before there was one.
    """
    lasting = Session.objects.filter(expire_date__gt=timezone.now()).order_by("-expire_date")
    listed = SignIn.objects.filter(session_key=OuterRef("session_key"))
    theirs = lasting.filter(Exists(listed.filter(user=person)))
    others = lasting.filter(~Exists(listed))
    found = [*theirs, *(one for one in others if one.get_decoded().get("_auth_user_id") == str(person.pk))]
    return sorted(found, key=lambda one: one.expire_date, reverse=True)


def sign_out_everywhere(*, person: Any, keep: str | None, by: Any) -> int:
    """End somebody's sessions but the one of the key `keep`; how many were ended."""
    ended = [one for one in sessions_of(person) if one.session_key != keep]
    with kept("signed_out", Watched([PEOPLE], named=[person] if ended else []), by=by):
        for one in ended:
            one.delete()
        SignIn.objects.filter(session_key__in=[one.session_key for one in ended]).delete()
    return len(ended)


def renew_password(*, person: Any, by: Any) -> str:
    """A new password to hand over. Whoever is signed in with the old one is signed out."""
    password = new_password()
    with kept("password_renewed", _of_person(person, named=True), by=by):
        person.set_password(password)
        person.save(update_fields=["password"])
    return password


@transaction.atomic
def set_admitted(*, person: Any, admitted: bool, by: Any) -> None:
    """Shut a person out, at once and on every phone, or let them in again. Raises ValidationError as `set_role`."""
    owners = _owners_in_turn(by)
    if not admitted:
        _leave_an_owner(owners, person)
    with kept("let_in" if admitted else "shut_out", _of_person(person), by=by):
        person.is_active = admitted
        person.save(update_fields=["is_active"])
        if not admitted:
            _withdraw_invitations(person)
            sign_out_everywhere(person=person, keep=None, by=by)
