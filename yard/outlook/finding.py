"""Boards that yield a wanted size when dry and planed: which, where, and how near the fit is."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

import numpy as np
from django.db.models import F, QuerySet

from drying import wood as relations
from yard.models import Board, Species, Stack, TallyLine
from yard.outlook.standing import Standing, State, lightly, standing, standings

NEARLY = 0.92  # what is less than this of a wanted size in any direction is no near miss: our own choice
DRY_ENOUGH = 1.0  # points above the wanted moisture that still count as dry: our own choice
MOST, NEAR = 40, 10


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
    """The standing stacks' boards that serve a wish, in a fixed number of queries."""
    rows, unknown = _rows(wish)
    made = _yielding(rows, wish)
    near = (made.sizes >= NEARLY * np.array(wish.sizes_mm)).all(axis=1)
    fits = near & ~made.short.any(axis=1)
    ranked = _ranked(fits, made.spare)
    dry, wet, more = _by_moisture([(at, rows[at].stack_id) for at in ranked], wish, on)
    nearly = _ranked(near & ~fits, made.lacking)[:NEAR]
    told = _told([made.find(rows[at], at) for at in (*dry, *wet, *nearly)], wish, on)
    split = len(dry) + len(wet)
    return Found(told[: len(dry)], told[len(dry) : split], told[split:], more, unknown)


def fit_of(stack: Stack, board: Board | None, wish: Wish, on: date) -> list[Find]:
    """How the boards of a stack fit a wish, or one tagged board alone, the nearest first, however far from it."""
    most = _most_pct(stack.species.shrinkage_radial_pct, stack.species.shrinkage_tangential_pct)
    if most is None:
        return []
    sizes = [(board.length_mm, board.width_mm, 1)] if board else _lines_of(stack)
    rows = [_Row(stack.pk, stack.thickness_mm, *size, most, board) for size in sizes]
    made = _yielding(rows, wish)
    order = sorted(range(len(rows)), key=lambda at: (made.lacking[at], made.spare[at]))
    return _told([made.find(rows[at], at) for at in order], wish, on)


def _lines_of(stack: Stack) -> list[tuple[int, int, int]]:
    return [(line.length_mm, line.width_mm, line.count) for line in stack.lines.all()]


class _Row(NamedTuple):
    """Boards of a size in a stack; `most_pct` is the larger of the wood's two shrinkages."""

    stack_id: int
    thickness_mm: float
    length_mm: int
    width_mm: int
    number: int
    most_pct: float
    board: Board | None = None


def _most_pct(radial: float | None, tangential: float | None) -> float | None:
    """Across the grain boards shrink by no more than the larger of both ways; None where the book has no figures."""
    return None if radial is None or tangential is None else max(radial, tangential)


def _thick_enough(wish: Wish) -> QuerySet[Stack]:
    stacks = Stack.objects.standing().filter(thickness_mm__gte=NEARLY * wish.thickness_mm)
    return stacks.filter(species=wish.species) if wish.species else stacks


SIZE = ("stack_id", "stack__thickness_mm", "length_mm", "width_mm")
WOOD = ("stack__species__shrinkage_radial_pct", "stack__species__shrinkage_tangential_pct")


def _rows(wish: Wish) -> tuple[list[_Row], int]:
    """What may be large enough, as plain values, and how many stacks nobody can say it of. Two queries."""
    big = {"length_mm__gte": NEARLY * wish.length_mm, "width_mm__gte": NEARLY * wish.width_mm}
    stacks = _thick_enough(wish)
    figures = {name: F(path) for name, path in zip(("thick", "radial", "tangential"), (SIZE[1], *WOOD), strict=True)}
    boards: list[Any] = list(Board.objects.filter(stack__in=stacks, **big).order_by("pk").annotate(**figures))
    lines = TallyLine.objects.filter(stack__in=stacks, **big).order_by("stack__species", "pk")
    tagged = Counter((one.stack_id, one.length_mm, one.width_mm) for one in boards)
    found, unknown = list[_Row](), set[int]()
    for one in boards:
        most = _most_pct(one.radial, one.tangential)
        if most is not None:
            found.append(_Row(one.stack_id, one.thick, one.length_mm, one.width_mm, 1, most, one))
    for stack, thick, length, width, radial, tangential, count in lines.values_list(*SIZE, *WOOD, "count"):
        most = _most_pct(radial, tangential)
        if most is None:
            unknown.add(stack)
        elif left := _untagged((stack, length, width), count, tagged):
            found.append(_Row(stack, thick, length, width, left, most))
    return found, len(unknown)


def _untagged(size: tuple[int, int, int], count: int, tagged: Counter) -> int:
    """Of a tally's row those without a tag of their own: the others are told by themselves."""
    gone = min(tagged[size], count) if size in tagged else 0
    if gone:
        tagged[size] -= gone
    return count - gone


@dataclass(frozen=True, slots=True)
class _Yields:
    """Of rows of boards: the sizes that they yield, what those lack, what is spare, and the largest lack as a share of
    what is wanted."""

    sizes: Any
    short: Any
    spare: Any
    lacking: Any

    def find(self, row: _Row, at: int) -> Find:
        length, width, thickness = self.sizes[at].tolist()
        short, narrow, thin = self.short[at].tolist()
        spare = float(max(self.spare[at], 0))
        sizes, lacks = (length, width, thickness), (short, narrow, thin)
        return Find(row.stack_id, row.number, (row.length_mm, row.width_mm), sizes, spare, lacks, row.board)


def _yielding(rows: Sequence[_Row], wish: Wish) -> _Yields:
    """What sawn boards yield; along the grain they hardly shrink."""
    table = np.array([row[1:6] for row in rows], dtype=float).reshape(-1, 5)
    thick, length, width, _count, most = table.T
    across = [relations.shrunk_mm(size, most, wish.moisture_pct) - 2 * wish.planing_mm for size in (width, thick)]
    sizes = np.maximum(np.column_stack([length - wish.trim_mm, *across]), 0)
    short = np.maximum(np.array(wish.sizes_mm) - sizes, 0)
    spare = 1 - np.prod(wish.sizes_mm) / np.maximum(np.prod(sizes, axis=1), 1)
    return _Yields(sizes, short, spare, (short / np.maximum(sizes + short, 1)).max(axis=1))


def _ranked(which: Any, by: Any) -> list[int]:
    """The places of those marked, the least first."""
    places = np.flatnonzero(which)
    found: list[int] = places[np.argsort(by[places], kind="stable")].tolist()
    return found


def _by_moisture(ranked: Sequence[tuple[int, int]], wish: Wish, on: date) -> tuple[list[int], list[int], int]:
    """Of places and stacks the first MOST that are dry enough and that are not, and how many more there are: so many
    whether dry or not, once both are full."""
    is_dry = _dryness(wish, on)
    found: dict[bool, list[int]] = {True: [], False: []}
    for at, stack in ranked:
        mine = found[is_dry(stack)]
        if len(mine) < MOST:
            mine.append(at)
        if len(found[True]) == len(found[False]) == MOST:
            break
    return found[True], found[False], len(ranked) - len(found[True]) - len(found[False])


def _dryness(wish: Wish, on: date) -> Callable[[int], bool]:
    """Whether a stack is dry enough, by its key; its curve is read when it is asked for. One query."""
    light = {stack.pk: stack for stack in lightly(_thick_enough(wish))}
    return lambda pk: _is_dry(standing(light[pk], on), wish.moisture_pct)


def _told(finds: Sequence[Find], wish: Wish, on: date) -> list[Find]:
    """With how each one's stack stands on a day."""
    known = standings((one.stack_id for one in finds), on)
    return [
        replace(one, standing=stands, is_dry=_is_dry(stands, wish.moisture_pct))
        for one in finds
        if (stands := known.get(one.stack_id))
    ]


def _is_dry(stands: Standing, wanted_pct: float) -> bool:
    """By what it has now; a kiln-dried stack that nobody has read since by its target."""
    moisture = stands.moisture_pct
    if moisture is None and stands.state is State.DRIED:
        moisture = stands.stack.target_pct
    return moisture is not None and moisture <= wanted_pct + DRY_ENOUGH
