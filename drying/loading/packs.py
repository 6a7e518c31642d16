"""Packs, undivided, into rows along the chamber, rows into tiers, tiers on bolsters one above the other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

from drying.layout import Baffle, Pack, PackLayout, PlacedPack, Space
from drying.loading.standing import standing
from drying.packing.bins import first_fit_decreasing, fullest

Row = list[Pack]


@dataclass(frozen=True, slots=True)
class _Tier:
    rows: tuple[tuple[Pack, ...], ...]

    @property
    def height_mm(self) -> float:
        return max(one.height_mm for row in self.rows for one in row)

    @property
    def volume(self) -> float:
        return sum(_volume(one) for row in self.rows for one in row)

    @property
    def base(self) -> float:
        return sum(one.length_mm * one.width_mm for row in self.rows for one in row)


def lay_out_packs(packs: Sequence[Pack], space: Space) -> PackLayout:
    """Stands as much of the packs as fits; several orders are tried and the fullest kept. The widest base is lowest.

    `attainable` bounds the fill from above by the largest sums of lengths, widths and heights that fit the space. Sizes
    in mm; ValueError from `Pack` and `Space`.
    """
    ordered = sorted(packs, key=lambda one: (-one.height_mm, -one.width_mm, -one.length_mm, one.stack))
    able = [one for one in ordered if can_enter(one, space)]
    best = _fullest(able, space)
    if sum(len(row) for tier in best for row in tier.rows) < len(able):
        best = _all_standing(able, space) or best
    placed = _stand(best, space)
    inside = {id(one) for tier in best for row in tier.rows for one in row}
    return PackLayout(
        space=space,
        placed=placed,
        unplaced=tuple(one for one in ordered if id(one) not in inside),
        tiers=len(best),
        chamber_fill=sum(one.length_mm * one.width_mm * one.height_mm for one in placed) / _room(space),
        attainable=attainable_share(able, space),
        baffles=_baffles(best, space),
    )


def all_fit(packs: Sequence[Pack], space: Space) -> bool:
    """Whether every pack finds its place; the order in which they are given does not matter."""
    ordered = sorted(packs, key=lambda one: (-one.height_mm, -one.width_mm, -one.length_mm, one.stack))
    if not all(can_enter(one, space) for one in ordered):
        return False
    try:
        return standing(ordered, space) is not None
    except ValueError:
        return sum(len(row) for tier in _fullest(ordered, space) for row in tier.rows) == len(packs)


def _all_standing(packs: Sequence[Pack], space: Space) -> list[_Tier] | None:
    """All packs by the search through every place, which the quick orders don't find; the widest base lowest."""
    try:
        tiers = standing(packs, space) or []
    except ValueError:
        return None
    return sorted((_Tier(tuple(tuple(row) for row in tier)) for tier in tiers), key=lambda one: -one.base)


def _fullest(packs: Sequence[Pack], space: Space) -> list[_Tier]:
    """The best of several orders; the first that leaves nothing out ends it."""
    best: list[_Tier] = []
    whole = sum(_volume(one) for one in packs)
    heights = _steps([one.height_mm for one in packs])
    for height_step, width_step in product(heights, _steps([one.width_mm for one in packs])):
        tiers = _tiers(packs, space, height_step, width_step)
        if sum(tier.volume for tier in tiers) > sum(tier.volume for tier in best) + 1:
            best = tiers
        if sum(tier.volume for tier in best) > whole - 1:
            break
    return best


def _steps(sizes: Sequence[float]) -> list[float]:
    """Tolerances that tell these sizes apart; the first takes all together."""
    spread = max(sizes, default=0.0) - min(sizes, default=0.0)
    return [10_000.0, *(step for step in (150.0, 40.0) if spread > step)]


def can_enter(one: Pack, space: Space) -> bool:
    """Whether the pack by itself goes in."""
    tall = one.height_mm + space.sticker_mm <= space.height_mm
    return one.length_mm <= space.reach_mm and one.width_mm <= space.width_mm and tall


def attainable_share(packs: Sequence[Pack], space: Space) -> float:
    """No arrangement in rows and tiers takes a larger share of the space than this."""
    if not packs:
        return 0.0
    whole = sum(_volume(one) for one in packs) / _room(space)
    along = reach_mm([one.length_mm for one in packs], space.length_mm) / space.length_mm
    across = reach_mm([one.width_mm for one in packs], space.width_mm) / space.width_mm
    return min(
        1.0, whole, along * across * reach_mm([one.height_mm for one in packs], space.height_mm) / space.height_mm
    )


def reach_mm(sizes: Sequence[float], room_mm: float) -> float:
    """Bound on the sums of some of the sizes in the room: the largest one, where all are whole millimetres."""
    whole = [int(size) for size in sizes]
    rounding = sum(1 for size, floor in zip(sizes, whole, strict=True) if size != floor)
    return min(room_mm, sum(whole[index] for index in fullest(whole, int(room_mm))) + rounding)


def _volume(one: Pack) -> float:
    return one.length_mm * one.width_mm * one.height_mm


def _room(space: Space) -> float:
    return space.length_mm * space.width_mm * space.height_mm


def _tiers(packs: Sequence[Pack], space: Space, height_step: float, width_step: float) -> list[_Tier]:
    """Rows of like height and width, packed into tiers of like height; then the tiers that fit the height."""
    tiers: list[_Tier] = []
    left = list(packs)
    while left:
        level = [one for one in left if one.height_mm >= left[0].height_mm - height_step]
        rows = _rows(level, space.length_mm, width_step)
        widths = [int(-(-max(one.width_mm for one in row) // 1)) for row in rows]
        bins = first_fit_decreasing(widths, int(space.width_mm))
        tiers += [_Tier(tuple(tuple(rows[index]) for index in one)) for one in bins]
        inside = {id(one) for one in level}
        left = [one for one in left if id(one) not in inside]
    return _within(tiers, space)


def _rows(packs: Sequence[Pack], length_mm: float, width_step: float) -> list[Row]:
    """Each row begins with the widest pack left and is filled as full as others of nearly its width allow."""
    left = sorted(packs, key=lambda one: (-one.width_mm, -one.length_mm, -one.height_mm, one.stack))
    rows: list[Row] = []
    while left:
        first = left.pop(0)
        near = [index for index, one in enumerate(left) if one.width_mm >= first.width_mm - width_step]
        sizes = [int(-(-left[index].length_mm // 1)) for index in near]
        room = int(length_mm - first.length_mm)
        chosen = {near[position] for position in fullest(sizes, room)} if room > 0 else set()
        rows.append([first, *(left[index] for index in sorted(chosen))])
        left = [one for index, one in enumerate(left) if index not in chosen]
    return rows


def _within(tiers: Sequence[_Tier], space: Space) -> list[_Tier]:
    """The most volume first while the height lasts; then ordered with the widest base lowest."""
    kept: list[_Tier] = []
    height = 0.0
    for tier in sorted(tiers, key=lambda one: -one.volume):
        if height + tier.height_mm + space.sticker_mm <= space.height_mm + 1e-6:
            kept.append(tier)
            height += tier.height_mm + space.sticker_mm
    return sorted(kept, key=lambda one: -one.base)


def _stand(tiers: Sequence[_Tier], space: Space) -> tuple[PlacedPack, ...]:
    placed: list[PlacedPack] = []
    z = 0.0
    for number, tier in enumerate(tiers):
        z += space.sticker_mm
        below = [one for one in placed if one.tier == number - 1]
        y = 0.0
        for lane, row in enumerate(sorted(tier.rows, key=lambda row: -sum(one.length_mm for one in row))):
            x = 0.0
            for one in sorted(row, key=lambda one: (-one.length_mm, one.stack)):
                size = (one.length_mm, one.width_mm, one.height_mm)
                standing = PlacedPack(one.stack, number, lane, x, y, z, *size, supported=1.0)
                placed.append(replace(standing, supported=_supported(standing, below)))
                x += one.length_mm
            y += max(one.width_mm for one in row)
        z += tier.height_mm
    return tuple(placed)


def _supported(one: PlacedPack, below: Sequence[PlacedPack]) -> float:
    if one.tier == 0:
        return 1.0
    area = 0.0
    for other in below:
        along = min(one.x_mm + one.length_mm, other.x_mm + other.length_mm) - max(one.x_mm, other.x_mm)
        across = min(one.y_mm + one.width_mm, other.y_mm + other.width_mm) - max(one.y_mm, other.y_mm)
        area += max(0.0, along) * max(0.0, across)
    return min(1.0, area / (one.length_mm * one.width_mm))


def _baffles(tiers: Sequence[_Tier], space: Space) -> tuple[Baffle, ...]:
    """What is open above the top tier and beside each tier, from 30 mm."""
    top = sum(tier.height_mm + space.sticker_mm for tier in tiers)
    found = []
    if space.height_mm - top >= 30:
        found.append(Baffle("top", space.height_mm - top, len(tiers), len(tiers)))
    for number, tier in enumerate(tiers):
        open_mm = space.width_mm - sum(max(one.width_mm for one in row) for row in tier.rows)
        if open_mm >= 30:
            found.append(Baffle("side", open_mm, number, number))
    return tuple(found)
