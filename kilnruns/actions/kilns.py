"""Writes over a kiln and its place: what it is, and the days on which it takes no charge."""

from datetime import datetime
from typing import Any

from django.db import transaction

from kilnruns.models import Closure, Kiln
from yard.changes import Watched, keeps
from yard.models import Place, PlaceKind


def of_kiln(kiln: Kiln) -> Watched:
    """Its figures and its name, which is its place's."""
    return Watched([], [Kiln.objects.filter(pk=kiln.pk), Place.objects.filter(pk=kiln.place_id)])


def of_closure(closure: Closure) -> Watched:
    return Watched([closure.kiln], [Closure.objects.filter(pk=closure.pk)])


@transaction.atomic
@keeps("kiln_changed", lambda kiln, **_given: of_kiln(kiln), lambda kiln: ([kiln], [kiln, kiln.place]))
def save_kiln(*, kiln: Kiln, name: str, by: Any) -> Kiln:
    """Save a new or changed kiln together with the place of that name that it is for the yard."""
    if kiln.place_id is None:
        kiln.place = Place.objects.create(name=name, kind=PlaceKind.KILN)
    elif kiln.place.name != name:
        kiln.place.name = name
        kiln.place.save(update_fields=["name"])
    kiln.save()
    return kiln


@transaction.atomic
@keeps("kiln_changed", lambda kiln, **_given: of_kiln(kiln), lambda kiln: ([kiln], []))
def trust(*, kiln: Kiln, trusted: bool, by: Any, at: datetime) -> Kiln:
    """Plan a kiln without a finished run as any other, or with an easy charge first."""
    kiln.trusted = trusted
    kiln.save(update_fields=["trusted"])
    return kiln


@transaction.atomic
@keeps("kiln_booked", lambda closure, **_given: of_closure(closure), lambda closure: ([], [closure]))
def book(*, closure: Closure, by: Any, at: datetime) -> Closure:
    """Keep new or changed days on which the kiln takes no charge."""
    closure.save()
    return closure


@transaction.atomic
@keeps("booking_lifted", lambda closure, **_given: of_closure(closure))
def lift_booking(*, closure: Closure, by: Any, at: datetime) -> None:
    """Plans may use the days again."""
    closure.delete()
