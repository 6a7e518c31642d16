"""The best mix of boards for one run, counted length by length: lengths of different stacks that fill a lane together.

A linear program over patterns of lengths (as in `packing.bars`), whose supply is bought from the stacks at what each
brings. Its duals prove what no load of these boards can exceed, whatever the arrangement of its lanes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drying.packing.bars import measured
from drying.packing.knapsack import knapsack
from drying.packing.solver import INFINITY, Program
from drying.planner.task import Task

Lines = Mapping[int, Sequence[int]]
"""By stack: boards of each tally line."""
Pattern = tuple[tuple[int, int], ...]
"""Lengths (mm) and how many of each lie in a lane."""
HEIGHT, FULL, WATER, FIRST = 0, 1, 2, 3
"""Rows of the program; those of the lengths, by thickness, come after."""


@dataclass(frozen=True, slots=True)
class Wood:
    """All boards of one length of one stack: `width_mm` in sum, and what a mm of it brings (EUR), takes of the kiln
    by the stack's own need, and loses of water (kg)."""

    stack: int
    length: int
    thickness: float
    width_mm: float
    brings: float
    fills: float
    water: float


@dataclass(frozen=True, slots=True)
class Mixed:
    """Widths (mm) of the woods in the best mix found, its profit in EUR, and what no mix can exceed."""

    woods: Sequence[Wood]
    widths: Sequence[float]
    profit: float
    bound: float


class Mixer:
    """Mixes for one kiln; the patterns that it meets are kept for the next mix."""

    def __init__(self, task: Task, kiln: int) -> None:
        self.task, self.kiln = task, kiln
        self.patterns: dict[Pattern, None] = {}

    def mix(
        self,
        start: int,
        days: int,
        have: Lines,
        prices: np.ndarray | None = None,
        *,
        caps: Mapping[int, float] | None = None,
        rounds: int = 60,
    ) -> Mixed:
        """The load of most profit from the boards at hand, each item at its price, each stack up to its cap (a share of
        the whole stack), for a run of so many days."""
        task, kiln = self.task, self.kiln
        woods = _woods(task, kiln, start, days, have, prices)
        full = float(task.full_cost(kiln, np.array(start), np.array(days)))
        rate = task.kilns[kiln].heater_kg_water_per_day
        areas = {stack: cap * _area(task, stack) for stack, cap in (caps or {}).items() if stack in have}
        program = _Mix(task, kiln, woods, task.rules.empty_cost * full, rate * days if rate else INFINITY, areas)
        program.seed(self.patterns)
        widths, profit, bound = program.solve(rounds)
        self.patterns.update(dict.fromkeys(program.found))
        fixed = (1 + task.rules.empty_cost) * full
        return Mixed(woods, widths, profit - fixed, bound - fixed)


def best_mix(
    task: Task,
    kiln: int,
    start: int,
    days: int,
    have: Lines,
    *,
    prices: np.ndarray | None = None,
    caps: Mapping[int, float] | None = None,
    mixer: Mixer | None = None,
) -> dict[int, tuple[int, ...]]:
    """Boards of each tally line that bring most together beyond the prices of their items; no part of a stack under the
    smallest, none over its cap by more than a board.

    Whole boards, rounded up: what then finds no place is for the layout to leave out.
    """
    mixer = mixer or Mixer(task, kiln)
    stacks = [stack for stack in sorted(have) if sum(have[stack])]
    while stacks:
        mixed = mixer.mix(start, days, {stack: have[stack] for stack in stacks}, prices, caps=caps)
        counts = {stack: _whole_boards(task, stack, have[stack], mixed) for stack in stacks}
        small = [stack for stack in stacks if _part(task, stack, counts[stack]) < task.rules.smallest_part]
        if not small:
            return counts
        unused = [stack for stack in small if not any(counts[stack])]
        out = unused or [min(small, key=lambda stack: (_part(task, stack, counts[stack]), stack))]
        stacks = [stack for stack in stacks if stack not in out]
    return {}


def _woods(task: Task, kiln: int, start: int, days: int, have: Lines, prices: np.ndarray | None) -> list[Wood]:
    """What the run gains by each length of each stack beyond the price of these boards."""
    woods = []
    members = np.array(sorted(have), dtype=int)
    gains = task.gain(kiln, members, np.array(start), np.array(days))
    for stack, gain in zip(members.tolist(), gains.tolist(), strict=True):
        whole = _area(task, stack)
        widths: dict[int, float] = {}
        for (length, width, _), count in zip(task.lumber[stack].pieces, have[stack], strict=True):
            widths[int(length)] = widths.get(int(length), 0.0) + width * count
        for length, width in sorted(widths.items()):
            each = (gain, float(task.need.share[kiln, stack]), float(task.water[stack, start]))
            if width > 0:
                brings, fills, water = (one * length / whole for one in each)
                if prices is not None:
                    item = task.items.find(stack, length)
                    brings -= float(prices[item] / task.items.width_mm[item])
                woods.append(Wood(stack, length, float(task.thickness[stack]), width, brings, fills, water))
    return woods


def _area(task: Task, stack: int) -> float:
    """All boards of a stack side by side, mm2."""
    return sum(length * width * count for length, width, count in task.lumber[stack].pieces)


class _Mix:
    """Most EUR: widths of woods within patterns of their lengths, patterns within the height, water within the heat;
    a kiln that is not full pays for the rest (`rebate` is what a full one saves)."""

    def __init__(
        self, task: Task, kiln: int, woods: Sequence[Wood], rebate: float, water_kg: float, caps: Mapping[int, float]
    ) -> None:
        self.space, self.woods, self.rebate, self.water_kg = task.kilns[kiln].space, woods, rebate, water_kg
        self.classes = sorted({wood.thickness for wood in woods})
        self.height = self.space.height_mm
        if len(self.classes) == 1:
            self.height = self.space.layers_of(self.classes[0]) * (self.classes[0] + self.space.sticker_mm)
        keys = sorted({(wood.thickness, wood.length) for wood in woods})
        self.rows = {key: row + FIRST for row, key in enumerate(keys)}
        self.lengths = {t: [length for other, length in keys if other == t] for t in self.classes}
        self.caps = dict(zip(caps, range(FIRST + len(keys), FIRST + len(keys) + len(caps)), strict=True))
        upper = [self.height, 0.0, water_kg, *(0.0 for _ in keys), *caps.values()]
        self.upper = dict(enumerate(upper))
        self.program = Program([-INFINITY] * len(upper), upper)
        self.number = len(woods)
        self.known: set[tuple[float, Pattern]] = set()
        self.found: list[Pattern] = []
        for wood in woods:
            rows = [self.rows[wood.thickness, wood.length], FULL]
            values = [1.0, -wood.fills]
            if water_kg < INFINITY:
                rows, values = [*rows, WATER], [*values, wood.water]
            if wood.stack in self.caps:
                rows, values = [*rows, self.caps[wood.stack]], [*values, float(wood.length)]
            self.program.add(-wood.brings, rows, values, wood.width_mm)
        self.program.add(-rebate, [FULL], [1.0], 1.0)

    def seed(self, patterns: Mapping[Pattern, None]) -> None:
        """Begins with lanes of one length, and with the patterns given that these lengths can form."""
        for thickness, lengths in self.lengths.items():
            inside = set(lengths)
            for length in lengths:
                self._add(thickness, ((length, int(self.space.length_mm) // length),))
            for pattern in patterns:
                if all(length in inside for length, _ in pattern):
                    self._add(thickness, pattern)

    def _add(self, thickness: float, pattern: Pattern) -> None:
        if (thickness, pattern) in self.known:
            return
        self.known.add((thickness, pattern))
        tall = (thickness + self.space.sticker_mm) / self.space.width_mm
        rows = [self.rows[thickness, length] for length, _ in pattern]
        self.program.add(0.0, [HEIGHT, *rows], [tall, *(-float(count) for _, count in pattern)])

    def solve(self, rounds: int) -> tuple[list[float], float, float]:
        """Widths of the woods in the best mix found, what it brings, and the proven most."""
        bound = float("inf")
        for _ in range(rounds):
            self.program.solve()
            duals = np.maximum(-self.program.duals, 0.0)
            price, better = self._priced(duals)
            bound = min(bound, self._bound(duals, price))
            if not better:
                break
            for thickness, pattern in better:
                self._add(thickness, pattern)
                self.found.append(pattern)
        else:
            self.program.solve()
        return self.program.values[: self.number], -self.program.objective, bound

    def _priced(self, duals: np.ndarray) -> tuple[float, list[tuple[float, Pattern]]]:
        """The price of a mm of height at which no pattern would pay, and the patterns that pay at the present one."""
        height_price, better = 0.0, []
        for thickness, lengths in self.lengths.items():
            worth = [float(duals[self.rows[thickness, length]]) for length in lengths]
            sizes, capacity = measured(lengths, int(self.space.length_mm))
            value, counts = knapsack(worth, sizes, [capacity // size for size in sizes], capacity)
            tall = (thickness + self.space.sticker_mm) / self.space.width_mm
            height_price = max(height_price, value / tall)
            if value > tall * float(duals[HEIGHT]) * (1 + 1e-6) + 1e-9:
                better.append((thickness, tuple((length, n) for length, n in zip(lengths, counts, strict=True) if n)))
        return height_price, better

    def _bound(self, duals: np.ndarray, height_price: float) -> float:
        """What no mix exceeds: all rows at their prices, that of the height raised until no pattern pays."""
        total = height_price * self.height + max(0.0, self.rebate - float(duals[FULL]))
        total += float(duals[WATER]) * self.water_kg if self.water_kg < INFINITY else 0.0
        total += sum(float(duals[row]) * self.upper[row] for row in self.caps.values())
        for wood in self.woods:
            paid = float(duals[self.rows[wood.thickness, wood.length]] - duals[FULL] * wood.fills)
            paid += float(duals[WATER]) * wood.water if self.water_kg < INFINITY else 0.0
            paid += float(duals[self.caps[wood.stack]]) * wood.length if wood.stack in self.caps else 0.0
            total += max(0.0, wood.brings - paid) * wood.width_mm
        return total


def _whole_boards(task: Task, stack: int, have: Sequence[int], mixed: Mixed) -> tuple[int, ...]:
    """Whole boards for the widths bought, the widest first; all of a stack of which hardly a rest would stay."""
    wanted = {w.length: width for w, width in zip(mixed.woods, mixed.widths, strict=True) if w.stack == stack}
    counts = [0] * len(have)
    lines = task.lumber[stack].pieces
    for line in sorted(range(len(lines)), key=lambda index: -lines[index][1]):
        length, width, _ = lines[line]
        key = int(length)
        counts[line] = min(have[line], int(np.ceil(wanted.get(key, 0.0) / width - 1e-6)))
        wanted[key] = max(0.0, wanted.get(key, 0.0) - counts[line] * width)
    rest = _part(task, stack, have) - _part(task, stack, counts)
    return tuple(have) if 0 < rest < task.rules.smallest_part and any(counts) else tuple(counts)


def _part(task: Task, stack: int, counts: Sequence[int]) -> float:
    pieces = task.lumber[stack].pieces
    return sum(length * width * n for (length, width, _), n in zip(pieces, counts, strict=True)) / _area(task, stack)
