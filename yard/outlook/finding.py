"""Boards that yield a wanted size when dry and planed: which, where, and how near the fit is."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby

import numpy as np

from drying import wood as relations
from yard.models import Board, Species, Stack, TallyLine
from yard.outlook.standing import Standing, State, standing, with_last_reading

NEARLY = 0.92  # what is less than this of a wanted size in any direction is no near miss: our own choice
DRY_ENOUGH = 1.0  # points above the wanted moisture that still count as dry: our own choice
MOST = 40


@dataclass(frozen=True, slots=True)
class Wish:
    """A finished size at a moisture, % of oven-dry mass; of any wood where `species` is None.

    `planing_mm` goes off each face and edge, `trim_mm` off each board's length in all.
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    moisture_pct: float
    species: Species | None = None
    planing_mm: float = 0.0
    trim_mm: float = 0.0

    @property
    def sizes_mm(self) -> tuple[float, float, float]:
        return self.length_mm, self.width_mm, self.thickness_mm


@dataclass(frozen=True, slots=True)
class Find:
    """So many boards of one sawn size in a stack, or one tagged `board`, with the sizes that they surely yield.

    `spare` is what is cut away of the yield, 0 to 1; `short_mm` what it lacks in length, width and thickness.
    """

    stack_id: int
    count: int
    sawn_mm: tuple[int, int]
    yield_mm: tuple[float, float, float]
    spare: float
    short_mm: tuple[float, float, float]
    board: Board | None = None
    standing: Standing | None = None
    is_dry: bool = False

    @property
    def fits(self) -> bool:
        return not any(self.short_mm)


@dataclass(frozen=True, slots=True)
class Found:
    """What serves a wish, each list the nearest fit first: `dry` now, `wet` as yet, and `nearly` large enough.

    `more` fits were found beyond those listed; `unknown` stacks were left out, of woods without shrinkage figures.
    """

    dry: list[Find]
    wet: list[Find]
    nearly: list[Find]
    more: int
    unknown: int


def find_boards(wish: Wish, on: date) -> Found:
    """The standing stacks' boards that serve a wish, in five queries."""
    finds, unknown = _finds(wish)
    fits = sorted((one for one in finds if one.fits), key=lambda one: one.spare)
    nearly = sorted((one for one in finds if not one.fits), key=_lacking)[:10]
    told = _told([*fits, *nearly], wish, on)
    dry = [one for one in told if one.fits and one.is_dry]
    wet = [one for one in told if one.fits and not one.is_dry]
    more = max(len(dry) - MOST, 0) + max(len(wet) - MOST, 0)
    return Found(dry[:MOST], wet[:MOST], [one for one in told if not one.fits], more, unknown)


def fit_of(stack: Stack, board: Board | None, wish: Wish, on: date) -> list[Find]:
    """How the boards of a stack fit a wish, or one tagged board alone, the nearest first, however far from it."""
    sizes = [(board.length_mm, board.width_mm, 1)] if board else _lines_of(stack)
    finds = _yielding(stack.species, [(stack.pk, stack.thickness_mm, *size) for size in sizes], wish)
    if board:
        finds = [replace(one, board=board) for one in finds]
    return _told(sorted(finds, key=lambda one: (_lacking(one), one.spare)), wish, on)


def _lines_of(stack: Stack) -> list[tuple[int, int, int]]:
    return [(line.length_mm, line.width_mm, line.count) for line in stack.lines.all()]


def _finds(wish: Wish) -> tuple[list[Find], int]:
    """All that fits or nearly does, and how many stacks nobody can say it of."""
    least = [size * NEARLY for size in wish.sizes_mm]
    stacks = Stack.objects.standing().filter(thickness_mm__gte=least[2])
    if wish.species:
        stacks = stacks.filter(species=wish.species)
    big = {"length_mm__gte": least[0], "width_mm__gte": least[1], "stack__in": stacks}
    boards = list(Board.objects.filter(**big).select_related("stack__species"))
    lines = TallyLine.objects.filter(**big).select_related("stack__species").order_by("stack__species")
    tagged = Counter((board.stack_id, board.length_mm, board.width_mm) for board in boards)
    found, unknown = _tagged(boards, wish), set[int]()
    for species, group in groupby(lines, lambda line: line.stack.species):
        rows = list(group)
        if species.shrinkage_radial_pct is None or species.shrinkage_tangential_pct is None:
            unknown.update(line.stack_id for line in rows)
            continue
        found += _yielding(species, [row for line in rows if (row := _untagged(line, tagged))[4]], wish)
    return [one for one in found if _is_near(one, wish)], len(unknown)


def _untagged(line: TallyLine, tagged: Counter) -> tuple[int, float, int, int, int]:
    """A tally's row less its boards with a tag of their own, which are told by themselves."""
    key = (line.stack_id, line.length_mm, line.width_mm)
    gone = min(tagged[key], line.count)
    tagged[key] -= gone
    return line.stack_id, line.stack.thickness_mm, line.length_mm, line.width_mm, line.count - gone


def _tagged(boards: Iterable[Board], wish: Wish) -> list[Find]:
    found = []
    for board in boards:
        row = (board.stack_id, board.stack.thickness_mm, board.length_mm, board.width_mm, 1)
        found += [replace(one, board=board) for one in _yielding(board.stack.species, [row], wish)]
    return found


def _yielding(species: Species, rows: list[tuple[int, float, int, int, int]], wish: Wish) -> list[Find]:
    """What sawn boards yield: across the grain they shrink by the larger of both ways, along it hardly at all."""
    radial, tangential = species.shrinkage_radial_pct, species.shrinkage_tangential_pct
    if not rows or radial is None or tangential is None:
        return []
    table = np.array([row[1:4] for row in rows], dtype=float)
    most = max(radial, tangential)
    across = relations.shrunk_mm(table[:, [0, 2]], most, wish.moisture_pct) - 2 * wish.planing_mm
    sizes = np.maximum(np.column_stack([table[:, 1] - wish.trim_mm, across[:, 1], across[:, 0]]), 0)
    short = np.maximum(np.array(wish.sizes_mm) - sizes, 0)
    spare = 1 - np.prod(wish.sizes_mm) / np.maximum(np.prod(sizes, axis=1), 1)
    return [
        Find(row[0], row[4], row[2:4], tuple(size), float(max(left, 0)), tuple(lack))
        for row, size, left, lack in zip(rows, sizes.tolist(), spare, short.tolist(), strict=True)
    ]


def _is_near(find: Find, wish: Wish) -> bool:
    return all(size >= NEARLY * wanted for size, wanted in zip(find.yield_mm, wish.sizes_mm, strict=True))


def _lacking(find: Find) -> float:
    """The largest shortfall as a share of what is there."""
    return max(lack / max(size + lack, 1) for lack, size in zip(find.short_mm, find.yield_mm, strict=True))


def _told(finds: list[Find], wish: Wish, on: date) -> list[Find]:
    """With how each one's stack stands on a day."""
    keys = {one.stack_id for one in finds}
    rows = with_last_reading(Stack.objects.filter(pk__in=keys).for_lists())
    standings = {stack.pk: standing(stack, on) for stack in rows}
    return [
        replace(one, standing=stands, is_dry=_is_dry(stands, wish.moisture_pct))
        for one in finds
        if (stands := standings.get(one.stack_id))
    ]


def _is_dry(stands: Standing, wanted_pct: float) -> bool:
    """By what it has now; a kiln-dried stack that nobody has read since by its target."""
    moisture = stands.moisture_pct
    if moisture is None and stands.state is State.DRIED:
        moisture = stands.stack.target_pct
    return moisture is not None and moisture <= wanted_pct + DRY_ENOUGH
