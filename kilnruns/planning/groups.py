"""Which drying group a species is in, for the plan: the book's, or where an owner moved it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from drying.offers import Rules
from drying.schedules import GROUP_CODES
from kilnruns.models import GroupMember, Kiln, KilnSchedule, OwnGroup, PlanningRules
from yard.models import DryingGroup, Species, Stack

# What is sawn for one thickness differs by so much: common practice, no source.
SAME_THICKNESS_MM = 3.0
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
    """Where each species is, and which kiln has a schedule of its own for it; read once (two queries), asked often."""

    def __init__(self, moved: Mapping[int, Group], own: Iterable[KilnSchedule] = ()) -> None:
        self._moved = moved
        self._own: dict[tuple[int, int], list[KilnSchedule]] = {}
        for one in own:
            self._own.setdefault((one.kiln_id, one.species_id), []).append(one)

    @classmethod
    def read(cls) -> "Groups":
        rows = GroupMember.objects.select_related("own")
        return cls({row.species_id: group_of_member(row) for row in rows}, KilnSchedule.objects.kept())

    def own_schedule(self, kiln: Kiln, stack: Stack) -> KilnSchedule | None:
        """What the kiln keeps for such a stack, of the nearest thickness; None where it has nothing near."""
        near = [
            (abs(one.thickness_mm - stack.thickness_mm), one.pk, one)
            for one in self._own.get((kiln.pk, stack.species_id), ())
            if abs(one.thickness_mm - stack.thickness_mm) <= SAME_THICKNESS_MM
        ]
        return min(near)[2] if near else None

    def of(self, species: Any) -> Group:
        return self._moved.get(species.pk, Group(species.drying_group, species.drying_group))

    def schedule_group(self, species: Any) -> str:
        """Whose schedule stands in where the species has none: the milder of its own group's and the one it was moved
        to, so that moving a wood never dries it harder."""
        own, base = species.drying_group, self.of(species).base
        return max(own, base, key=lambda group: FROM_EASY.index(DryingGroup(group)))

    def as_basis(self) -> dict[str, list[str]]:
        return {str(key): [group.name, group.base] for key, group in sorted(self._moved.items())}


AS_IN_THE_BOOK = Groups({})


def group_of_member(row: GroupMember) -> Group:
    return Group(row.own.name, row.own.base) if row.own else Group(row.book, row.book)


def rules(**more: float) -> Rules:
    """The core's rules with the mill's figures, and `more` of the core's own. One query."""
    return Rules(**PlanningRules.current().figures, **more)


@dataclass(frozen=True, slots=True)
class Kind:
    """A species in a group: whether it was moved there, and the thicknesses (mm) that stand in the yard."""

    species: Species
    moved: bool
    thicknesses_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class GroupTold:
    """A group with what lends it a schedule; `standing` kinds have stacks in the yard, the `others` none."""

    label: Any
    own: OwnGroup | None
    base: DryingGroup
    code_25mm: str
    code_50mm: str
    standing: tuple[Kind, ...]
    others: tuple[Kind, ...]


def overview() -> list[GroupTold]:
    """All groups with their species; four queries, whatever the yard's size."""
    groups, own = Groups.read(), list(OwnGroup.objects.all())
    sizes: dict[int, set[float]] = {}
    for species_id, thickness in Stack.objects.drying().order_by().values_list("species_id", "thickness_mm").distinct():
        sizes.setdefault(species_id, set()).add(thickness)
    kinds: dict[str, list[Kind]] = {}
    for species in Species.objects.defer("sources"):
        name = groups.of(species).name
        kind = Kind(species, name != species.drying_group, tuple(sorted(sizes.get(species.pk, ()))))
        kinds.setdefault(name, []).append(kind)
    book = [_told(choice.label, None, choice, kinds.get(choice.value, [])) for choice in DryingGroup]
    return [*book, *(_told(one.name, one, DryingGroup(one.base), kinds.get(one.name, [])) for one in own)]


def _told(label: Any, own: OwnGroup | None, base: DryingGroup, kinds: list[Kind]) -> GroupTold:
    return GroupTold(
        label,
        own,
        base,
        *GROUP_CODES[base],
        standing=tuple(one for one in kinds if one.thicknesses_mm),
        others=tuple(one for one in kinds if not one.thicknesses_mm),
    )
