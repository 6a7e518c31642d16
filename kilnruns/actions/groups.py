"""Writes over drying groups."""

from typing import Any

from django.db import transaction

from kilnruns.models import GroupMember, OwnGroup
from yard.changes import MILL, Watched, keeps
from yard.models import Species


def of_group(group: OwnGroup) -> Watched:
    """A group that the owner made, and who is in it."""
    return Watched([MILL], [OwnGroup.objects.filter(pk=group.pk), GroupMember.objects.filter(own=group.pk)])


@transaction.atomic
@keeps("group_kept", lambda group, **_given: of_group(group), lambda group: ([], [group]))
def keep_group(*, group: OwnGroup, by: Any) -> OwnGroup:
    """A new group, or one with another name or schedule."""
    group.save()
    return group


@transaction.atomic
@keeps(
    "species_moved", lambda species, **_given: Watched([MILL, species], [GroupMember.objects.filter(species=species)])
)
def move(*, species: Species, into: OwnGroup | str, by: Any) -> None:
    """Put a species into a group; its own one of the book means that nothing is changed for it."""
    GroupMember.objects.filter(species=species).delete()
    if isinstance(into, OwnGroup):
        GroupMember.objects.create(species=species, own=into)
    elif into != species.drying_group:
        GroupMember.objects.create(species=species, book=into)


@transaction.atomic
@keeps("group_dissolved", lambda group, **_given: of_group(group))
def dissolve(*, group: OwnGroup, by: Any) -> None:
    """Take an own group away; its species go back to their groups of the book."""
    group.delete()
