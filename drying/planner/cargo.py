"""The boards of one charge and where they lie, chosen together: an integer program, then lane by lane into layers."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from math import ceil

from drying.lanes import pack
from drying.layout import Board, Space
from drying.loading.rows import tuck_in
from drying.planner.mix import Lane, Mix, Part
from drying.planner.pieces import Lines, Piece, pieces
from drying.planner.stopwatch import Stopwatch
from drying.planner.task import Task

Layers = list[list[list[Board]]]
"""Layer, lane, board."""
SPARE = (0.0, 0.004, 0.01)
"""Shares of the width left unused, one after another, where lanes don't go into whole layers without."""
A_BOARD = 0.01
"""Of a stack: whole boards may exceed a cap by so much."""
NODES = 40


def best_cargo(
    task: Task,
    kiln: int,
    start: int,
    days: int,
    have: Lines,
    *,
    caps: Mapping[int, float] | None = None,
    dear: Mapping[int, float] | None = None,
    watch: Stopwatch,
) -> Layers:
    """The layers of the load that brings most from the boards at hand: of each stack no part under the smallest, none
    above its cap (a share of the whole stack), each at what it costs to part it (EUR)."""
    some = pieces(task, kiln, start, days, have)
    program = Mix(task, kiln, start, days, some, ceil, _parts(task, some, caps or {}, dear or {}))
    program.solve()
    best: tuple[float, Layers] = (0.0, [])
    for spare in SPARE:
        counts, lanes = program.whole(spare, NODES, max(0.2, watch.left_on_wall(1.0)))
        watch.cut |= program.out_of_time
        brings, layers, all_in = _stowed(task, task.kilns[kiln].space, program.pieces, counts, lanes)
        best = max(best, (brings, layers), key=lambda one: one[0])
        if all_in:
            break
    return best[1]


def _parts(task: Task, some: Sequence[Piece], caps: Mapping[int, float], dear: Mapping[int, float]) -> dict[int, Part]:
    have: dict[int, float] = defaultdict(float)
    for one in some:
        have[one.stack] += one.part * one.count
    least = task.rules.smallest_part
    return {
        stack: Part(min(least, whole), min(whole, caps.get(stack, 1.0) + A_BOARD), dear.get(stack, 0.0))
        for stack, whole in have.items()
    }


def _stowed(
    task: Task, space: Space, some: Sequence[Piece], counts: Sequence[int], lanes: Sequence[Lane]
) -> tuple[float, Layers, bool]:
    """What the boards that find a place bring (EUR), their layers, and whether all found one."""
    waiting: dict[Lane, list[Board]] = defaultdict(list)
    brings: dict[tuple[str, float, float], float] = {}
    for one, number in zip(some, counts, strict=True):
        board = Board(task.lumber[one.stack].code, *one.kind, one.thickness)
        waiting[one.thickness, (one.kind,)] += [board] * number
        brings[_key(board)] = one.brings
    rows = [row for thickness, kinds in lanes if (row := _row(waiting, thickness, kinds))]
    layers = _in_layers(rows, space)
    worth = [sum(brings[_key(board)] for row in layer for board in row) for layer in layers]
    kept, height = [], space.height_mm + 1e-6
    loose = [board for boards in waiting.values() for board in boards]
    for index in sorted(range(len(layers)), key=lambda one: -worth[one]):
        tall = layers[index][0][0].thickness_mm + space.sticker_mm
        if tall <= height:
            height -= tall
            kept.append(layers[index])
        else:
            loose += [board for row in layers[index] for board in row]
    out = tuck_in(kept, loose, space.length_mm, space.width_mm)
    return sum(brings[_key(board)] for layer in kept for row in layer for board in row), kept, not out


def _key(board: Board) -> tuple[str, float, float]:
    return board.stack, board.length_mm, board.width_mm


def _row(waiting: Mapping[Lane, list[Board]], thickness: float, kinds: Sequence[tuple[float, float]]) -> list[Board]:
    """The boards of one lane, the longest first; fewer than it has places for where no more are wanted."""
    return [waiting[thickness, (kind,)].pop() for kind in sorted(kinds, reverse=True) if waiting[thickness, (kind,)]]


def _in_layers(rows: Sequence[list[Board]], space: Space) -> Layers:
    """Lanes of one thickness side by side, in as few layers as can be."""
    layers: Layers = []
    for thickness in sorted({row[0].thickness_mm for row in rows}, reverse=True):
        alike = [row for row in rows if row[0].thickness_mm == thickness]
        widths = [ceil(max(board.width_mm for board in row)) for row in alike]
        packing = pack(widths, int(space.width_mm), nodes=50, seconds=2.0)
        layers += [[alike[index] for index in one] for one in packing.bins]
    return layers
