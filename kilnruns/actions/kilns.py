"""Writes over a kiln and its place."""

from typing import Any

from django.db import transaction

from kilnruns.models import Kiln
from yard.models import Place, PlaceKind


@transaction.atomic
def save_kiln(*, kiln: Kiln, name: str, by: Any) -> Kiln:
    """Save a new or changed kiln together with the place of that name that it is for the yard."""
    if kiln.place_id is None:
        kiln.place = Place.objects.create(name=name, kind=PlaceKind.KILN)
    elif kiln.place.name != name:
        kiln.place.name = name
        kiln.place.save(update_fields=["name"])
    kiln.save()
    return kiln
