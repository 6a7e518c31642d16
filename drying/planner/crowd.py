"""All windows of the kilns that are alike in a large yard, their stacks one after another: what each could bring.

The profit of a window at given stack prices is a fractional knapsack of its stacks, each counted by the least that it
can take of the kiln whatever lies beside it: an upper bound on every charge of the window.
"""

from collections.abc import Sequence

import numpy as np

from drying.loading.packs import reach_mm
from drying.planner.task import Task
from drying.planner.windows import Window

FEW = 48
"""Stacks of a window that are priced one by one, those of most gain for their room; the others are bounded together."""


class Crowd:
    """`start`, `days`, `full_cost` by window; `row`, `stack`, `gain`, `need` by entry; `kilns` that all have them.

    `need` is a stack's least share of the kiln.
    """

    def __init__(self, task: Task, kilns: Sequence[int], offered: Sequence[Window]) -> None:
        self.task, self.kilns, self.kiln = task, list(kilns), kilns[0]
        some = sorted((one for one in offered if one.stacks), key=lambda one: (one.start, one.days, one.stacks))
        self.start = np.array([one.start for one in some], dtype=int)
        self.days = np.array([one.days for one in some], dtype=int)
        self.end = np.minimum(self.start + self.days, task.horizon)
        sizes = np.array([len(one.stacks) for one in some], dtype=int)
        self.first = np.concatenate([[0], np.cumsum(sizes)])
        self.row = np.repeat(np.arange(len(some), dtype=np.int32), sizes)
        self.stack = np.fromiter((stack for one in some for stack in one.stacks), np.int32, int(sizes.sum()))
        self.group = task.groups[self.stack[self.first[:-1]]]
        self.edges = np.searchsorted(self.start, np.arange(task.horizon + 1))
        self.full_cost = task.full_cost(self.kiln, self.start, self.days)
        self.need = least_needs(task, self.kiln)
        self.own = task.need.share[self.kiln]
        self.gain = task.gain(self.kiln, self.stack, self.start[self.row], self.days[self.row])
        self.rebated = task.rules.empty_cost * self.full_cost[self.row] * self.own[self.stack]
        self.few, self.dropped = self._best_of_each()

    def _best_of_each(self) -> tuple[np.ndarray, np.ndarray]:
        """The entries of each window that gain most for their room, and the most that another one gains for its room
        (EUR for a whole kiln), at no prices: at any prices it is no more."""
        density = (self.gain + self.rebated) / self.need[self.stack]
        order = np.argsort(self.row - density / (2 * density.max(initial=1e-9)), kind="stable")
        rank = np.arange(len(order)) - self.first[self.row[order]]
        dropped = np.zeros(len(self.start))
        after = order[rank == FEW]
        dropped[self.row[after]] = np.maximum(0.0, density[after])
        return order[rank < FEW], dropped

    def profit(
        self, prices: np.ndarray, left: np.ndarray | None = None, days: tuple[int, int] | None = None
    ) -> "Priced":
        """The most that charges can bring beyond the prices of whole stacks (EUR), of the windows that start in
        `days` (from, to), from what is `left` of each stack."""
        if left is None and days is None:
            return self._priced(prices)
        begin, end = self.edges[list(days)] if days else (0, len(self.start))
        part = slice(self.first[begin], self.first[end])
        stack, row = self.stack[part], self.row[part]
        value = self.gain[part] + self.rebated[part] - prices[stack]
        good = value > 0 if left is None else (value > 0) & (left[stack] > 0)
        return Priced(self, begin, end, stack[good], row[good] - begin, value[good], left)

    def _priced(self, prices: np.ndarray) -> "Priced":
        """All windows, each by its best stacks; by all of them where others could be worth as much."""
        while True:
            stack, row = self.stack[self.few], self.row[self.few]
            value = self.gain[self.few] + self.rebated[self.few] - prices[stack]
            good = value > 0
            priced = Priced(self, 0, len(self.start), stack[good], row[good], value[good], None)
            short = self.dropped > priced.rates()
            if not short.any():
                return priced
            # From now on these windows have all their stacks.
            self.dropped[short] = 0.0
            whole = [np.arange(self.first[one], self.first[one + 1]) for one in np.flatnonzero(short).tolist()]
            self.few = np.concatenate([self.few[~short[row]], *whole])

    def ahead(self, profit: np.ndarray) -> np.ndarray:
        """Most that charges from each day on can bring one after another (horizon + 1): profits of all windows."""
        best = np.zeros(self.task.horizon + 1)
        for day in range(self.task.horizon - 1, -1, -1):
            best[day] = best[day + 1]
            here = slice(self.edges[day], self.edges[day + 1])
            if here.start < here.stop:
                best[day] = max(best[day], float((profit[here] + best[self.end[here]]).max()))
        return best

    def chain(self, profit: np.ndarray) -> list[int]:
        """The windows of the best chain."""
        best, day, found = self.ahead(profit), 0, list[int]()
        while day < self.task.horizon:
            here = slice(self.edges[day], self.edges[day + 1])
            values = profit[here] + best[self.end[here]]
            if len(values) and best[day] > best[day + 1] and values.max() >= best[day]:
                found.append(here.start + int(values.argmax()))
                day = int(self.end[found[-1]])
            else:
                day += 1
        return found


class Priced:
    """The windows `begin` to `end` of a crowd at prices: `profit` of each, and the shares that give it."""

    def __init__(
        self, crowd: Crowd, begin: int, end: int, stack: np.ndarray, row: np.ndarray, value: np.ndarray,
        left: np.ndarray | None,
    ) -> None:  # fmt: skip
        rules, number = crowd.task.rules, end - begin
        room = crowd.need[stack]
        density = value / room
        order = np.argsort(row - density / (2 * density.max(initial=1e-9)), kind="stable")
        self.stack, rows, room, self.density = stack[order], row[order], room[order], density[order]
        if left is not None:
            room = room * left[self.stack]
        self.first = np.searchsorted(rows, np.arange(number + 1))
        sums = np.concatenate([[0.0], np.cumsum(room)])
        before = sums[:-1] - sums[self.first[rows]]
        taken = np.clip(1.0 - before, 0.0, room)
        self.shares = taken / crowd.need[self.stack]
        self.taken = np.concatenate([[0.0], np.cumsum(taken)])
        self.last = np.bincount(rows[taken > 0], minlength=number)
        brought = np.concatenate([[0.0], np.cumsum(taken * self.density)])
        self.cost = (1 + rules.empty_cost) * crowd.full_cost[begin:end]
        self.profit: np.ndarray = brought[self.first[1:]] - brought[self.first[:-1]] - self.cost
        self.begin = begin

    def rates(self) -> np.ndarray:
        """What the last stack that each window takes brings for its room, EUR for a whole kiln; 0 if it is not full."""
        full = self.taken[self.first[1:]] - self.taken[self.first[:-1]] >= 1 - 1e-9
        found = np.zeros(len(self.profit))
        found[full] = self.density[self.first[:-1][full] + self.last[full] - 1]
        return found

    def load(self, row: int) -> tuple[np.ndarray, np.ndarray]:
        """Stacks and shares that a window takes, the best for their room first."""
        part = slice(self.first[row - self.begin], self.first[row - self.begin + 1])
        shares = self.shares[part]
        return self.stack[part][shares > 1e-9], shares[shares > 1e-9]


def least_needs(task: Task, kiln: int) -> np.ndarray:
    """Share of the kiln that each whole stack takes at least: of boards their area over the largest sum of lengths
    that a lane holds, in the height that whole layers of them can use where no other thickness may join them."""
    if task.kilns[kiln].loading == "pack":
        return _pack_needs(task, kiln)
    space, need = task.kilns[kiln].space, np.full(len(task.lumber), np.inf)
    able = np.isfinite(task.need.share[kiln])
    for group in np.unique(task.groups[able]):
        kin = np.flatnonzero(able & (task.groups == group))
        lane = _longest_lane(task, kin.tolist(), space.length_mm) * space.width_mm
        alone = len(set(task.thickness[kin].tolist())) == 1
        for stack in kin.tolist():
            tall = float(task.thickness[stack]) + space.sticker_mm
            height = space.layers_of(float(task.thickness[stack])) * tall if alone else space.height_mm
            area = sum(length * width * count for length, width, count in task.lumber[stack].pieces)
            need[stack] = area / lane * tall / height
    return need


def _pack_needs(task: Task, kiln: int) -> np.ndarray:
    """Of packs: length times width times height with its bolster, each as a share of what packs of the group can take
    of the space; the larger ones with what must stay empty beside them."""
    space, need = task.kilns[kiln].space, np.full(len(task.lumber), np.inf)
    able = np.isfinite(task.need.share[kiln])
    for group in np.unique(task.groups[able]):
        kin = np.flatnonzero(able & (task.groups == group)).tolist()
        packs = [size for stack in kin if (size := task.lumber[stack].pack)]
        sizes = zip(*packs, strict=True)
        rooms, on_top = (space.length_mm, space.width_mm, space.height_mm), (0.0, 0.0, space.sticker_mm)
        shares = [
            lifted([size + more for size in some], room) for some, room, more in zip(sizes, rooms, on_top, strict=True)
        ]
        need[kin] = np.prod(shares, axis=0)
    return need


def lifted(sizes: Sequence[float], room: float) -> np.ndarray:
    """Shares of the room (mm) of which no sizes that fit into it together have more than 1: sizes (whole mm, rounded
    down) over the largest sum that fits; to one of more than half, which stands there alone, what no others can use
    beside it is added."""
    whole = np.floor(np.array(sizes)).astype(int)
    most = int(reach_mm(_copied(whole, room), room))
    full = whole.copy()
    for size in np.unique(whole[2 * whole > most]).tolist():
        beside = reach_mm(_copied(whole[whole <= most - size], most - size), most - size)
        full[whole == size] = most - int(beside)
    shares: np.ndarray = full / max(most, 1)
    return shares


def _copied(sizes: np.ndarray, room: float) -> list[float]:
    """Each size as often as it is there and goes into the room."""
    found, counts = np.unique(sizes, return_counts=True)
    return [
        one for one, n in zip(found.tolist(), counts.tolist(), strict=True) for _ in range(min(n, int(room // one)))
    ]


def _longest_lane(task: Task, stacks: Sequence[int], room_mm: float) -> float:
    """The largest sum of the lengths of these stacks that a lane can hold, mm."""
    boards: dict[float, int] = {}
    for stack in stacks:
        for length, _, count in task.lumber[stack].pieces:
            boards[length] = boards.get(length, 0) + count
    return reach_mm([one for one, n in sorted(boards.items()) for _ in range(min(n, int(room_mm // one)))], room_mm)
