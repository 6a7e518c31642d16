"""How to cut a line out of the boards that serve it, and the logs to bring for what is missing."""

from dataclasses import dataclass
from math import ceil, floor

from drying import cutting
from drying import wood as relations
from yard.models import MillFigures, NeedLine, Unit
from yard.outlook.columns import LightStack
from yard.outlook.holding import shrinkage_pct
from yard.outlook.sawing import ToSaw, to_saw
from yard.outlook.servers import Server
from yard.outlook.serving import Served

MOST_STACKS = 30  # the nearest ready ones; more make no better plan that anyone would carry out: our own choice
SECONDS = 2.0
NOTHING = 1e-6
Tallied = tuple[int, int, int]
"""Of boards: length and width in mm, and how many."""


@dataclass(frozen=True, slots=True)
class BoardCut:
    """So many boards of one size of a stack, each ripped into strips (mm) and crosscut: (width, lengths) a strip.

    A strip without lengths is used as long as it comes; no strips at all: the board as it is.
    """

    stack: LightStack
    length_mm: int
    width_mm: int
    count: int
    strips: list[tuple[int, list[int]]]


@dataclass(frozen=True, slots=True)
class LineCuts:
    """`short` in the line's unit; `waste` the share of the boards cut away; no plan saves more than `gap`, 0 to 1."""

    boards: list[BoardCut]
    short: float
    waste: float
    gap: float
    cuts: int
    saw: ToSaw | None


def cut_line(served: Served) -> LineCuts:
    """Out of what is kept for the line, or else of stacks that nobody else has any of: dry ones, then the nearest
    ready, as few as yield it."""
    found = LineCuts([], served.line.quantity, 0.0, 0.0, 0, None)
    for servers in _choices(served):
        found = _cut(served, servers)
        if found.saw is None and found.short <= NOTHING:
            break
    return found


def _choices(served: Served) -> list[list[Server]]:
    """Growing sets of stacks."""
    if served.kept:
        return [served.kept]
    free = served.untouched(MOST_STACKS)
    counts = {len([one for one in free if one.is_dry]), 1, 2, 4, 8, 16, len(free)}
    return [free[:count] for count in sorted(counts) if count <= len(free)]


def _cut(served: Served, servers: list[Server]) -> LineCuts:
    line, figures = served.line, served.figures
    rows = [(one, tally) for one in servers for tally in one.stack.lines]
    boards = [(one, tally, size) for one, tally in rows if (size := _usable(one, tally, line, figures))]
    stock = [cutting.Stock(*size, count) for _, (_length, _width, count), size in boards]
    plan = cutting.cut(stock, [_want(line, figures)], kerf_mm=figures.kerf_mm, seconds=SECONDS)
    short = plan.short[0]
    saw = to_saw(line.need, line, short / line.quantity, figures) if short > NOTHING else None
    told = [_told(one, boards, line) for one in plan.cuts]
    return LineCuts(told, short, plan.waste, plan.gap, plan.cut_count, saw)


def _usable(server: Server, tally: Tallied, line: NeedLine, figures: MillFigures) -> tuple[int, int] | None:
    """Length and width when dry, trimmed; a random width is planed on its edges. None where nothing is left. What was
    sawn to the line's size is taken at its word: it shrinks in width as little as it can."""
    wood = server.stack.species
    both = [wood.shrinkage_radial_pct or 0.0, wood.shrinkage_tangential_pct or 0.0]
    total = min(both) if server.sawn_m3 else shrinkage_pct(wood, figures.sawn, across=True)
    length_mm, width_mm, _count = tally
    width = float(relations.shrunk_mm(width_mm, total, line.need.target_pct))
    size = length_mm - figures.trim_mm, floor(width - (0 if line.width_mm else 2 * figures.planing_mm) + 1e-6)
    return size if min(size) > 0 else None


def _want(line: NeedLine, figures: MillFigures) -> cutting.Want:
    """Widths with what is planed off both edges."""
    width = ceil(line.width_mm + 2 * figures.planing_mm) if line.width_mm else None
    if line.unit == Unit.PIECES:
        return cutting.Want(line.quantity, line.length_mm, width)
    if line.unit == Unit.METRES:
        return cutting.Want(line.quantity, None, width)
    return cutting.Want(line.quantity)


def _told(cut: cutting.Cut, boards: list[tuple[Server, Tallied, tuple[int, int]]], line: NeedLine) -> BoardCut:
    server, tally, _ = boards[cut.stock]
    lengths = [line.length_mm] if line.unit == Unit.PIECES and line.length_mm else []
    strips = [(strip.width_mm, lengths * len(strip.pieces)) for strip in cut.strips]
    return BoardCut(server.stack, tally[0], tally[1], cut.times, strips)
