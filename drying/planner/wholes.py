"""Loads of undivided stacks: every set of stacks that fits a kiln together, or the most promising of them."""

from collections.abc import Iterator, Sequence
from copy import copy

import numpy as np

from drying.layout import Pack
from drying.loading.packs import all_fit
from drying.planner.book import Batch
from drying.planner.task import Task
from drying.planner.windows import Window

BEAM, NARROW = 400, 40
"""Sets of one size that are followed up; where no more turn up, all were seen."""
LOOKS = 40_000
"""After so many tries whether a set fits, the beam is narrow: a count and no clock, for the same answer every time."""


class Fitting:
    """Whether whole stacks fit a kiln together; answers are kept, since the question comes again every day."""

    def __init__(self, task: Task, kiln: int) -> None:
        self.task, self.kiln = task, kiln
        self.looks = 0
        self._share = task.need.share[kiln].tolist()
        self._packs: dict[tuple[tuple[float, float, float], ...], bool] = {}
        self._known: dict[frozenset[int], bool] = {}

    def __call__(self, stacks: Sequence[int]) -> bool:
        self.looks += 1
        key = frozenset(stacks)
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = self._fit(stacks)
        return found

    def _fit(self, stacks: Sequence[int]) -> bool:
        if self._by_pack and sum(self._share[stack] for stack in stacks) > 1 + 1e-9:
            return False
        return self._fit_packs(stacks) if self._by_pack else self._fit_layers(stacks)

    @property
    def _by_pack(self) -> bool:
        return self.task.kilns[self.kiln].loading == "pack"

    def _fit_packs(self, stacks: Sequence[int]) -> bool:
        sizes = [self.task.lumber[stack].pack for stack in stacks]
        key = tuple(sorted(size for size in sizes if size is not None))
        if key not in self._packs:
            packs = [Pack(str(number), *size) for number, size in enumerate(key)]
            self._packs[key] = all_fit(packs, self.task.kilns[self.kiln].space)
        return self._packs[key]

    def _fit_layers(self, stacks: Sequence[int]) -> bool:
        return height_used(self.task, self.kiln, dict.fromkeys(stacks, 1.0)) <= self._height

    @property
    def _height(self) -> float:
        return self.task.kilns[self.kiln].space.height_mm + 1e-6


def height_used(task: Task, kiln: int, shares: dict[int, float]) -> float:
    """Height in mm of whole layers, each thickness rounded up by itself."""
    layers: dict[float, float] = {}
    for stack, share in shares.items():
        thickness = float(task.thickness[stack])
        layers[thickness] = layers.get(thickness, 0.0) + share * float(task.need.layers[kiln, stack])
    sticker = task.kilns[kiln].space.sticker_mm
    return sum(float(np.ceil(number - 1e-9)) * (thickness + sticker) for thickness, number in layers.items())


class Wholes:
    """All charges of undivided stacks worth considering in one kiln: a row a charge. `complete` if none is missing.

    `reach` is the fullest that a charge with each stack can be, whether it pays or not.
    """

    def __init__(self, task: Task, kiln: int, offered: Sequence[Window]) -> None:
        self.task, self.kiln, self.complete = task, kiln, True
        self.fits = Fitting(task, kiln)
        self.reach = np.zeros(len(task.lumber))
        self._sets: dict[tuple[int, ...], np.ndarray] = {}
        blocks = [block for block in (self._block(one) for one in offered) if block is not None]
        self.start = _joined([block[0] for block in blocks], int)
        self.days = _joined([block[1] for block in blocks], int)
        self.value = _joined([block[2] for block in blocks], float)
        self.holds = np.concatenate([block[3] for block in blocks]) if blocks else np.zeros((0, len(task.lumber)), bool)
        self.weights = self.holds.astype(float)
        self.windows = [window for *_, window, number in blocks for _ in range(number)]

    def _block(self, window: Window) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray, Window, int] | None:
        """The charges of one window that need all its days and bring more than they cost."""
        task, stacks = self.task, np.array(window.stacks)
        sets = self._sets_of(window.stacks)
        days = task.days[self.kiln, stacks, window.start]
        rate = task.kilns[self.kiln].heater_kg_water_per_day
        lasting = np.where(sets, days, 0.0).max(axis=1, initial=0.0)
        if rate:
            lasting = np.maximum(lasting, np.ceil(sets @ task.water[stacks, window.start] / rate - 1e-9))
        start = np.array(window.start)
        gain = sets @ task.gain(self.kiln, stacks, start, np.array(window.days))
        used = sets @ task.need.share[self.kiln, stacks]
        fullest = np.where(sets, np.minimum(used, 1.0)[:, None], 0.0).max(axis=0, initial=0.0)
        self.reach[stacks] = np.maximum(self.reach[stacks], fullest)
        cost = float(task.full_cost(self.kiln, start, np.array(window.days)))
        value = gain - cost * (1 + task.rules.empty_cost * np.maximum(0.0, 1 - used))
        enough = (used >= task.rules.smallest_fill - 1e-9) | (sets @ (task.order[stacks] > 0) > 0)
        good = (lasting == window.days) & enough & (value > 0)
        number = int(good.sum())
        if not number:
            return None
        holds = np.zeros((number, len(task.lumber)), dtype=bool)
        holds[:, stacks] = sets[good]
        return (
            np.full(number, window.start), np.full(number, window.days), value[good], holds, window, number,
        )  # fmt: skip

    def _sets_of(self, stacks: tuple[int, ...]) -> np.ndarray:
        """Which sets fit, a row a set over the window's stacks; grown stack by stack, since parts of what fits fit."""
        if stacks not in self._sets:
            density = [float(self.task.value[s] / self.task.need.share[self.kiln, s]) for s in stacks]
            order = sorted(range(len(stacks)), key=lambda index: (-density[index], index))
            found: list[tuple[int, ...]] = []
            level: list[tuple[int, ...]] = [()]
            while level:
                level = list(self._grown(level, stacks, order))
                beam = BEAM if self.fits.looks < LOOKS else NARROW
                self.complete &= len(level) <= beam
                level = sorted(level, key=lambda some: -sum(density[i] for i in some))[:beam]
                found += level
            rows = np.zeros((len(found), len(stacks)), dtype=bool)
            for row, some in enumerate(found):
                rows[row, list(some)] = True
            self._sets[stacks] = rows
        return self._sets[stacks]

    def _grown(
        self, level: Sequence[tuple[int, ...]], stacks: tuple[int, ...], order: Sequence[int]
    ) -> Iterator[tuple[int, ...]]:
        rank = {index: position for position, index in enumerate(order)}
        for some in level:
            first = rank[some[-1]] + 1 if some else 0
            for index in order[first:]:
                if self.fits([stacks[one] for one in (*some, index)]):
                    yield (*some, index)

    def profit(self, stack_prices: np.ndarray) -> np.ndarray:
        """What every charge brings beyond the prices of its stacks."""
        profit: np.ndarray = self.value - self.weights @ stack_prices
        return profit

    def price(self, stack_prices: np.ndarray, left: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray]:
        """As for parts of stacks: profit (-inf where a stack is not there any more), and the shares."""
        profit = self.profit(stack_prices) if stack_prices.any() else self.value
        if left is not None:
            profit = np.where(self.weights @ (left < 1 - 1e-7).astype(float) > 0, -np.inf, profit)
        return profit, self.holds

    def of(self, kiln: int) -> "Wholes":
        """The same charges in a kiln that is like this one."""
        twin = copy(self)
        twin.kiln = kiln
        return twin

    def profits(self, rows: np.ndarray, left: np.ndarray) -> np.ndarray:
        """Profit of these rows at no prices, from what is left."""
        gone = self.weights[rows] @ (left < 1 - 1e-7).astype(float) > 0
        profit: np.ndarray = np.where(gone, -np.inf, self.value[rows])
        return profit

    def batch(self, row: int, shares: np.ndarray) -> Batch:
        chosen = tuple((int(stack), 1.0) for stack in np.flatnonzero(shares[row]))
        return Batch(self.kiln, int(self.start[row]), int(self.days[row]), chosen, self.windows[row].stacks)


def _joined(blocks: Sequence[np.ndarray], kind: type) -> np.ndarray:
    return np.concatenate(blocks) if blocks else np.zeros(0, dtype=kind)
