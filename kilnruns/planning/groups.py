"""Which drying group a species is in, for the plan: the book's, or where an owner moved it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from drying.offers import Rules
from drying.schedules import GROUP_CODES, THICKEST_FOR_25MM_CODE_MM
from kilnruns.models import GroupMember, PlanningRules
from yard.models import DryingGroup

# From the wood that bears most to the one that bears least: the order of the published schedules' severity.
FROM_EASY = (
    DryingGroup.SOFTWOOD,
    DryingGroup.LIGHT_HARDWOOD,
    DryingGroup.MEDIUM_HARDWOOD,
    DryingGroup.SLOW_HARDWOOD,
)


@dataclass(frozen=True, slots=True)
class Group:
    """`name` is what plans call it; `base` the book's group whose schedule stands in for a wood without its own."""

    name: str
    base: str


class Groups:
    """Where each species is; read once (one query) and asked often."""

    def __init__(self, moved: Mapping[int, Group]) -> None:
        self._moved = moved

    @classmethod
    def read(cls) -> "Groups":
        rows = GroupMember.objects.select_related("own")
        return cls({row.species_id: group_of_member(row) for row in rows})

    def of(self, species: Any) -> Group:
        return self._moved.get(species.pk, Group(species.drying_group, species.drying_group))

    def schedule_group(self, species: Any) -> str:
        """Whose schedule stands in where the species has none: the milder of its own group's and the one it was moved
        to, so that moving a wood never dries it harder."""
        own, base = species.drying_group, self.of(species).base
        return max(own, base, key=lambda group: FROM_EASY.index(DryingGroup(group)))

    def as_basis(self) -> dict[str, list[str]]:
        return {str(key): [group.name, group.base] for key, group in sorted(self._moved.items())}


def group_of_member(row: GroupMember) -> Group:
    return Group(row.own.name, row.own.base) if row.own else Group(row.book, row.book)


def rules(**more: float) -> Rules:
    """The core's rules with the mill's figures, and `more` of the core's own. One query."""
    return Rules(**PlanningRules.current().figures, **more)


def stand_in_code(base: str, thickness_mm: float) -> str:
    """Code of the schedule that a group lends to a wood that has none of its own."""
    thin, thick = GROUP_CODES[base]
    return thin if thickness_mm <= THICKEST_FOR_25MM_CODE_MM else thick
