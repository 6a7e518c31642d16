"""Boards of one tally line, and what one of them means to a run: what the lanes of a charge are filled with."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from drying.loading.lanewidth import Kind
from drying.planner.task import Task

Lines = Mapping[int, Sequence[int]]
"""By stack: boards of each tally line."""


@dataclass(frozen=True, slots=True)
class Piece:
    """`count` boards of `kind` (length, width in mm); one of them brings EUR beyond its price, `fills` of the kiln by
    the stack's own need, loses `water` (kg), and is this `part` of its stack."""

    stack: int
    line: int
    kind: Kind
    thickness: float
    count: int
    brings: float
    fills: float
    water: float
    part: float


def pieces(task: Task, kiln: int, start: int, days: int, have: Lines, prices: np.ndarray | None = None) -> list[Piece]:
    """The boards at hand, by stack and line, each at the price of its item."""
    members = [stack for stack in sorted(have) if sum(have[stack])]
    gains = task.gain(kiln, np.array(members, dtype=int), np.array(start), np.array(days)).tolist()
    found = []
    for stack, gain in zip(members, gains, strict=True):
        lines = task.lumber[stack].pieces
        area = sum(length * width * count for length, width, count in lines)
        need, water = float(task.need.share[kiln, stack]), float(task.water[stack, start])
        for line, ((length, width, _), count) in enumerate(zip(lines, have[stack], strict=True)):
            if count and width > 0:
                part = length * width / area
                brings = part * gain
                if prices is not None:
                    item = task.items.find(stack, int(length))
                    brings -= float(prices[item] / task.items.width_mm[item]) * width
                thickness = float(task.thickness[stack])
                kind = (float(length), float(width))
                found.append(Piece(stack, line, kind, thickness, count, brings, part * need, part * water, part))
    return found
