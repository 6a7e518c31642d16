"""The best mix of boards for one run, counted length by length: lengths of different stacks that fill a lane together.

A linear program over patterns of lengths (as in `bars`), whose supply is bought from the stacks at what each brings.
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


@dataclass(frozen=True, slots=True)
class Wood:
    """All boards of one length of one stack: `width_mm` in sum, EUR they bring a mm of width."""

    stack: int
    length: int
    width_mm: float
    brings: float


def best_mix(
    task: Task, kiln: int, start: int, days: int, have: Lines, *, rounds: int = 60
) -> dict[int, tuple[int, ...]]:
    """Boards of each tally line that bring most together; no part of a stack under the smallest.

    Whole boards, rounded up: what then finds no place is for the layout to leave out.
    """
    stacks = [stack for stack in sorted(have) if sum(have[stack])]
    while stacks:
        woods = _woods(task, kiln, start, days, stacks, have)
        program = _Mix(task, kiln, woods)
        widths = program.solve(rounds)
        counts = {stack: _whole_boards(task, stack, have[stack], woods, widths) for stack in stacks}
        small = [stack for stack in stacks if _part(task, stack, counts[stack]) < task.rules.smallest_part]
        if not small:
            return counts
        unused = [stack for stack in small if not any(counts[stack])]
        out = unused or [min(small, key=lambda stack: (_part(task, stack, counts[stack]), stack))]
        stacks = [stack for stack in stacks if stack not in out]
    return {}


def _woods(task: Task, kiln: int, start: int, days: int, stacks: Sequence[int], have: Lines) -> list[Wood]:
    """What the run gains by each length of each stack, the saving on empty space included."""
    woods = []
    members = np.array(stacks)
    gains = task.gain(kiln, members, np.array(start), np.array(days))
    rebate = task.rules.empty_cost * float(task.full_cost(kiln, np.array(start), np.array(days)))
    for stack, gain in zip(stacks, gains.tolist(), strict=True):
        whole = sum(length * width * count for length, width, count in task.lumber[stack].pieces)
        each = (gain + rebate * float(task.need.share[kiln, stack])) / whole
        widths: dict[int, float] = {}
        for (length, width, _), count in zip(task.lumber[stack].pieces, have[stack], strict=True):
            widths[int(np.ceil(length))] = widths.get(int(np.ceil(length)), 0.0) + width * count
        woods += [Wood(stack, length, width, each * length) for length, width in sorted(widths.items()) if width > 0]
    return woods


class _Mix:
    """Most EUR: widths of woods within patterns of their lengths, patterns within the height."""

    def __init__(self, task: Task, kiln: int, woods: Sequence[Wood]) -> None:
        self.space = task.kilns[kiln].space
        thickness = [float(task.thickness[wood.stack]) for wood in woods]
        self.classes = sorted(set(thickness))
        height = self.space.height_mm
        if len(self.classes) == 1:
            height = self.space.layers_of(self.classes[0]) * (self.classes[0] + self.space.sticker_mm)
        keys = sorted({(t, wood.length) for t, wood in zip(thickness, woods, strict=True)})
        self.rows = {key: row + 1 for row, key in enumerate(keys)}
        self.program = Program([-INFINITY] * (len(keys) + 1), [height] + [0.0] * len(keys))
        self.number = len(woods)
        for t, wood in zip(thickness, woods, strict=True):
            self.program.add(-wood.brings, [self.rows[t, wood.length]], [1.0], wood.width_mm)
        for t, length in keys:
            self._add(t, {length: int(self.space.length_mm) // length})

    def _add(self, thickness: float, pattern: Mapping[int, int]) -> None:
        tall = (thickness + self.space.sticker_mm) / self.space.width_mm
        rows = [self.rows[thickness, length] for length in pattern]
        self.program.add(0.0, [0, *rows], [tall, *(-float(count) for count in pattern.values())])

    def solve(self, rounds: int) -> list[float]:
        """Widths of the woods in the best mix found."""
        for _ in range(rounds):
            self.program.solve()
            if not self._improve(np.maximum(-self.program.duals, 0.0)):
                break
        return self.program.values[: self.number]

    def _improve(self, prices: np.ndarray) -> bool:
        better = False
        for thickness in self.classes:
            lengths = [length for t, length in self.rows if t == thickness]
            worth = [float(prices[self.rows[thickness, length]]) for length in lengths]
            sizes, capacity = measured(lengths, int(self.space.length_mm))
            value, counts = knapsack(worth, sizes, [capacity // size for size in sizes], capacity)
            tall = (thickness + self.space.sticker_mm) / self.space.width_mm
            if value > tall * float(prices[0]) * (1 + 1e-6) + 1e-9:
                self._add(thickness, {length: n for length, n in zip(lengths, counts, strict=True) if n})
                better = True
        return better


def _whole_boards(
    task: Task, stack: int, have: Sequence[int], woods: Sequence[Wood], widths: Sequence[float]
) -> tuple[int, ...]:
    """Whole boards for the widths bought, the widest first; all of a stack of which hardly a rest would stay."""
    wanted = {wood.length: width for wood, width in zip(woods, widths, strict=True) if wood.stack == stack}
    counts = [0] * len(have)
    lines = task.lumber[stack].pieces
    for line in sorted(range(len(lines)), key=lambda index: -lines[index][1]):
        length, width, _ = lines[line]
        key = int(np.ceil(length))
        counts[line] = min(have[line], int(np.ceil(wanted.get(key, 0.0) / width - 1e-6)))
        wanted[key] = max(0.0, wanted.get(key, 0.0) - counts[line] * width)
    rest = _part(task, stack, have) - _part(task, stack, counts)
    return tuple(have) if 0 < rest < task.rules.smallest_part and any(counts) else tuple(counts)


def _part(task: Task, stack: int, counts: Sequence[int]) -> float:
    pieces = task.lumber[stack].pieces
    whole = sum(length * width * count for length, width, count in pieces)
    return sum(length * width * n for (length, width, _), n in zip(pieces, counts, strict=True)) / whole
