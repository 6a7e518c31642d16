"""Boards into layers of one thickness each, as few as can be, and the least number there can be."""

from collections import defaultdict
from collections.abc import Iterator, Sequence

from drying.lanes import pack
from drying.layout import Board, Space
from drying.loading.lanesearch import narrowed, program_of
from drying.loading.lanewidth import LaneWidths
from drying.loading.rows import Row, greedy_rows, handed_out, rows_by_width, total_width_mm
from drying.packing.bars import needed_width_mm, supply
from drying.packing.patterns import least

Layers = list[list[list[Board]]]
"""Layer, lane, board."""
ROUNDS = 60


def layered(boards: Sequence[Board], space: Space, exact: bool) -> tuple[Layers, int]:
    """All layers of all thicknesses, thick ones first, and the least number there can be."""
    by_thickness: dict[float, list[Board]] = defaultdict(list)
    for board in boards:
        by_thickness[board.thickness_mm].append(board)
    layers: Layers = []
    bound = 0
    for _, some in sorted(by_thickness.items(), reverse=True):
        rows, fewest = _best_rows(some, space) if exact else _quick_rows(some, space)
        layers += _given(some, rows)
        bound += fewest
    return layers, bound


def _given(boards: Sequence[Board], layers: Sequence[Sequence[Row]]) -> Layers:
    """The boards themselves for the kinds that the lanes hold."""
    lanes = iter(handed_out(boards, [row for layer in layers for row in layer]))
    return [[next(lanes) for _ in layer] for layer in layers]


def _quick_rows(boards: Sequence[Board], space: Space) -> tuple[list[list[Row]], int]:
    """The narrowest of the greedy ways; the bound is by area alone."""
    area = sum(one.length_mm * one.width_mm for one in boards)
    rows = min(greedy_rows(boards, space.length_mm), key=total_width_mm)
    return _packed(rows, space, 0), least(area / (space.length_mm * space.width_mm))


def _best_rows(boards: Sequence[Board], space: Space) -> tuple[list[list[Row]], int]:
    """Better and better lanes until their layers meet the bound, or the ways are at an end."""
    fewest = least(needed_width_mm(supply(boards), space.length_mm) / space.width_mm)
    best: list[list[Row]] = []
    for rows, width in _ways(boards, space):
        fewest = max(fewest, least(width / space.width_mm))
        if not best or total_width_mm(rows) <= (len(best) - 1) * space.width_mm + 1e-6:
            layers = _packed(rows, space, 50)
            best = layers if not best or len(layers) < len(best) else best
        if len(best) <= fewest:
            break
    return best, fewest


def _ways(boards: Sequence[Board], space: Space) -> Iterator[tuple[list[Row], float]]:
    """Ways to form lanes, the quick ones first, each with the lane width (mm) proven to be needed so far."""
    greedy = sorted(greedy_rows(boards, space.length_mm), key=total_width_mm)
    yield greedy[0], 0.0
    program = _program(greedy, space)
    program.solve(150)
    # Lengths that are no whole mm were rounded up: then the program proves nothing.
    bound = program.bound if all(one.length_mm == int(one.length_mm) for one in boards) else 0.0
    yield greedy[0], bound
    ways = [*greedy[1:3], program.dive()]
    if len({one.width_mm for one in boards}) <= 12:
        ways.append(rows_by_width(boards, space.length_mm))
    for rows in ways:
        yield rows, bound
    for rows in narrowed(min([greedy[0], *ways], key=total_width_mm), space.length_mm, ROUNDS):
        yield rows, bound


def _program(ways: Sequence[Sequence[Row]], space: Space) -> LaneWidths:
    program = program_of(ways[0], space.length_mm)
    for rows in ways[1:]:
        program.offer(rows)
    return program


def _packed(rows: Sequence[Row], space: Space, nodes: int) -> list[list[Row]]:
    widths = [int(-(-max(width for _, width in row) // 1)) for row in rows]
    packing = pack(widths, int(space.width_mm), nodes=nodes, seconds=2.0)
    return [[rows[index] for index in one] for one in packing.bins]
