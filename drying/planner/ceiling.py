"""What no charge can exceed: the most profit of each window at given stack prices, counted board length by length.

A load of boards is bounded by any prices of lengths that no lane can overrun (a dual feasible solution of the cutting
program): area by the largest sum of lengths that fits, and the prices of the group's whole stock. The lower profit of
the two families, window by window, is valid, for the lengths of different stacks may complement each other.
"""

from collections.abc import Sequence
from copy import copy

import numpy as np

from drying.layout import Board
from drying.loading.packs import reach_mm
from drying.packing.bars import Supply, supply
from drying.packing.patterns import cutting
from drying.packing.scales import scales, taken_by
from drying.planner.task import Task
from drying.planner.windows import Window

Item = tuple[int, int, float, tuple[float, ...]]
"""Stack, its item (-1: all of it), share of its volume, and what it takes of the kiln by each family."""

PACK_WAYS = 8
"""Ways to count what packs take, beside their volume."""


class Ceiling:
    """A bound on every charge of one kiln: a row a window, its items (stack and length) padded."""

    def __init__(self, task: Task, kiln: int, offered: Sequence[Window]) -> None:
        self.task, self.kiln = task, kiln
        items = _items(task, kiln)
        rows = [[item for stack in one.stacks for item in items[stack]] for one in offered]
        width = max((len(row) for row in rows), default=1)
        families = max((len(row[0][3]) for row in rows), default=1)
        self.start = np.array([one.start for one in offered], dtype=int)
        self.days = np.array([one.days for one in offered], dtype=int)
        self.stacks = np.zeros((len(offered), width), dtype=int)
        self.items = np.full((len(offered), width), -1)
        self.part = np.zeros((len(offered), width))
        self.needs = np.ones((families, len(offered), width))
        for number, row in enumerate(rows):
            if row:
                self.stacks[number, : len(row)] = [stack for stack, *_ in row]
                self.items[number, : len(row)] = [item for _, item, *_ in row]
                self.part[number, : len(row)] = [part for *_, part, _ in row]
                room = _usable(task, kiln, offered[number])
                self.needs[:, number, : len(row)] = np.maximum(np.array([need for *_, need in row]).T / room, 1e-12)
        needs = task.need.share[kiln]
        self.kept: list[tuple[bytes, np.ndarray]] = []
        self.hopeless = np.array([_hopeless(task, float(needs[list(one.stacks)].sum()), one) for one in offered], bool)
        self._count()

    def _count(self) -> None:
        task = self.task
        self.full_cost = task.full_cost(self.kiln, self.start, self.days)
        gain = task.gain(self.kiln, self.stacks, self.start[:, None], self.days[:, None])
        own = task.need.share[self.kiln, self.stacks]
        self.gain = gain + task.rules.empty_cost * self.full_cost[:, None] * np.where(np.isfinite(own), own, 0.0)

    def of(self, kiln: int) -> "Ceiling":
        """The same bound for a kiln that is like this one."""
        twin = copy(self)
        twin.kiln = kiln
        return twin

    def profit(self, prices: np.ndarray) -> np.ndarray:
        """The most any charge of each window can bring beyond the prices of its items."""
        key = prices.tobytes()
        if not self.kept or self.kept[0][0] != key:
            self.kept[:] = [(key, self._profit(prices))]
        return self.kept[0][1]

    def _profit(self, prices: np.ndarray) -> np.ndarray:
        whole = self.task.items.by_stack(prices)[self.stacks] * self.part
        paid = np.where(self.items < 0, whole, prices[self.items])
        each = np.maximum(0.0, self.gain * self.part - paid)
        best = np.full(len(self.start), np.inf)
        for need in self.needs:
            order = np.argsort(-each / need, axis=1, kind="stable")
            room = np.take_along_axis(need, order, axis=1)
            before = np.cumsum(room, axis=1) - room
            share = np.clip((1.0 - before) / room, 0.0, 1.0)
            best = np.minimum(best, (share * np.take_along_axis(each, order, axis=1)).sum(axis=1))
        profit: np.ndarray = np.where(self.hopeless, -np.inf, best - (1 + self.task.rules.empty_cost) * self.full_cost)
        return profit


def _hopeless(task: Task, most: float, window: Window) -> bool:
    """Whether not even all its stacks fill the kiln enough."""
    return most < task.rules.smallest_fill - 1e-9 and not (task.order[list(window.stacks)] > 0).any()


def _usable(task: Task, kiln: int, window: Window) -> float:
    """Share of the height that whole layers can take, where all are of one thickness."""
    space = task.kilns[kiln].space
    thickness = {float(task.thickness[stack]) for stack in window.stacks}
    if task.kilns[kiln].loading == "pack" or len(thickness) > 1:
        return 1.0
    only = thickness.pop()
    return space.layers_of(only) * (only + space.sticker_mm) / space.height_mm


def _items(task: Task, kiln: int) -> dict[int, list[Item]]:
    able = [int(stack) for stack in np.flatnonzero(np.isfinite(task.need.share[kiln]))]
    if task.kilns[kiln].loading == "pack":
        return {stack: [(stack, -1, 1.0, taken)] for stack, taken in packs_taken(task, kiln).items()}
    found: dict[int, list[Item]] = {}
    for group in np.unique(task.groups[able]):
        kin = [stack for stack in able if task.groups[stack] == group]
        lengths = supply([board for stack in kin for board in _boards(task, stack)])
        families = _families(lengths, task.kilns[kiln].space.length_mm)
        for stack in kin:
            found[stack] = _by_length(task, kiln, stack, families)
    return found


def packs_taken(task: Task, kiln: int) -> dict[int, tuple[float, ...]]:
    """By stack what its pack takes of the kiln, by several ways to count: in each, packs of a group that fit together
    take 1 at most. Undivided stacks of boards by their own need alone."""
    space, found = task.kilns[kiln].space, dict[int, tuple[float, ...]]()
    able = np.flatnonzero(np.isfinite(task.need.share[kiln]))
    if task.kilns[kiln].loading == "hand":
        return {int(stack): (float(task.need.share[kiln, stack]),) * (PACK_WAYS + 1) for stack in able}
    for group in np.unique(task.groups[able]):
        kin = [int(stack) for stack in able if task.groups[stack] == group]
        packs = np.array([task.lumber[stack].pack for stack in kin], dtype=float)
        packs[:, 2] += space.sticker_mm
        rooms = (space.length_mm, space.width_mm, space.height_mm)
        sides = [
            scales(sizes, reach_mm(sizes.tolist(), room), room) for sizes, room in zip(packs.T, rooms, strict=True)
        ]
        ways = [task.need.share[kiln, kin], *taken_by(sides, PACK_WAYS)]
        ways += [ways[0]] * (PACK_WAYS + 1 - len(ways))
        found.update(zip(kin, zip(*(way.tolist() for way in ways), strict=True), strict=True))
    return dict(sorted(found.items()))


def _boards(task: Task, stack: int) -> list[Board]:
    one = task.lumber[stack]
    return [
        Board(one.code, length, width, one.thickness_mm) for length, width, count in one.pieces for _ in range(count)
    ]


def _families(lengths: Supply, room_mm: float) -> list[dict[int, float]]:
    """Prices of lengths (share of a lane) that add up to at most 1 in every lane."""
    sizes = list(lengths)
    demand, copies = [lengths[size][0] for size in sizes], [lengths[size][1] for size in sizes]
    reach = reach_mm([size for size in sizes for _ in range(min(lengths[size][1], int(room_mm) // size))], room_mm)
    whole = cutting(sizes, demand, copies, int(room_mm))
    by_area = {size: size / reach for size in sizes}
    by_stock = dict(zip(sizes, whole.prices, strict=True))
    return [by_area, by_stock, {size: (by_area[size] + by_stock[size]) / 2 for size in sizes}]


def _by_length(task: Task, kiln: int, stack: int, families: Sequence[dict[int, float]]) -> list[Item]:
    space = task.kilns[kiln].space
    tall = (float(task.thickness[stack]) + space.sticker_mm) / (space.width_mm * space.height_mm)
    lengths = supply(_boards(task, stack))
    whole = sum(size * width for size, (width, _, _) in lengths.items())
    return [
        (
            stack,
            task.items.find(stack, size),
            size * width / whole,
            tuple(width * family[size] * tall for family in families),
        )
        for size, (width, _, _) in lengths.items()
    ]
