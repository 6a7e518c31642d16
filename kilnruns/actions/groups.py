"""Writes over drying groups."""

from typing import Any

from django.db import transaction

from kilnruns.models import GroupMember, OwnGroup
from yard.models import Species


@transaction.atomic
def move(*, species: Species, into: OwnGroup | str, by: Any) -> None:
    """Put a species into a group; its own one of the book means that nothing is changed for it."""
    GroupMember.objects.filter(species=species).delete()
    if isinstance(into, OwnGroup):
        GroupMember.objects.create(species=species, own=into)
    elif into != species.drying_group:
        GroupMember.objects.create(species=species, book=into)


@transaction.atomic
def dissolve(*, group: OwnGroup, by: Any) -> None:
    """Take an own group away; its species go back to their groups of the book."""
    group.delete()
