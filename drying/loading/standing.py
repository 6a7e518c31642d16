"""Whether all of a few packs stand in rows and tiers: a search through the places that each could take.

Packs are placed by falling height, so that the first of a tier gives its height; each goes into a row that has length
left, begins a row where there is width left, or begins a tier where there is height left.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from drying.layout import Pack, Space

NEAR = 1e-9
MOST_NODES = 600
"""Packs set down in one search before it gives up: a count and no clock, for the same answer every time."""


@dataclass(slots=True)
class _Row:
    tier: int
    length_mm: float
    width_mm: float
    packs: list[Pack] = field(default_factory=list)


class _Standing:
    """Rows as they fill up; lengths and widths left in mm."""

    def __init__(self, packs: Sequence[Pack], space: Space) -> None:
        self.packs = sorted(packs, key=lambda one: (-one.height_mm, -one.length_mm, -one.width_mm, one.stack))
        self.space, self.nodes = space, 0
        self.rows: list[_Row] = []
        self.widths: list[float] = []
        self.height = space.height_mm + NEAR

    def search(self, index: int = 0) -> bool | None:
        """Whether the packs from `index` on find places; None where the search gave up."""
        if index == len(self.packs):
            return True
        if self.nodes > MOST_NODES:
            return None
        one = self.packs[index]
        unsure = False
        for step in (self._into_rows, self._new_rows, self._new_tier):
            found = step(one, index)
            if found:
                return True
            unsure |= found is None
        return None if unsure else False

    def _into_rows(self, one: Pack, index: int) -> bool | None:
        """The fullest row first; of rows that are alike only one."""
        unsure, tried = False, set()
        able = [row for row in self.rows if row.length_mm + NEAR >= one.length_mm]
        for row in sorted(able, key=lambda row: row.length_mm):
            more = max(0.0, one.width_mm - row.width_mm)
            key = (row.tier, row.length_mm, row.width_mm)
            if more > self.widths[row.tier] + NEAR or key in tried:
                continue
            tried.add(key)
            before = row.length_mm, row.width_mm
            row.packs.append(one)
            row.length_mm, row.width_mm = row.length_mm - one.length_mm, row.width_mm + more
            self.widths[row.tier] -= more
            found = self._further(index)
            if found:
                return True
            row.packs.pop()
            row.length_mm, row.width_mm = before
            self.widths[row.tier] += more
            unsure |= found is None
        return None if unsure else False

    def _new_rows(self, one: Pack, index: int) -> bool | None:
        unsure = False
        for tier, width in enumerate(self.widths):
            if width + NEAR >= one.width_mm:
                found = self._begin(one, tier, index)
                if found:
                    return True
                unsure |= found is None
        return None if unsure else False

    def _new_tier(self, one: Pack, index: int) -> bool | None:
        tall = one.height_mm + self.space.sticker_mm
        if tall > self.height or one.width_mm > self.space.width_mm + NEAR:
            return False
        self.widths.append(self.space.width_mm)
        self.height -= tall
        found = self._begin(one, len(self.widths) - 1, index)
        if not found:
            self.widths.pop()
            self.height += tall
        return found

    def _begin(self, one: Pack, tier: int, index: int) -> bool | None:
        self.rows.append(_Row(tier, self.space.length_mm - one.length_mm, one.width_mm, [one]))
        self.widths[tier] -= one.width_mm
        found = self._further(index)
        if not found:
            self.rows.pop()
            self.widths[tier] += one.width_mm
        return found

    def _further(self, index: int) -> bool | None:
        self.nodes += 1
        return self.search(index + 1)


def standing(packs: Sequence[Pack], space: Space) -> list[list[list[Pack]]] | None:
    """Tiers of rows (mm) that hold all packs, or None where there are none; ValueError where the search gave up.

    Packs that the space can't take by themselves have to be left out before.
    """
    one = _Standing(packs, space)
    found = one.search()
    if found is None:
        raise ValueError(f"{len(packs)} packs are too many to try every place; ask for fewer")
    if not found:
        return None
    return [[row.packs for row in one.rows if row.tier == tier] for tier in range(len(one.widths))]
