"""How many boards of a stack to measure, where along them and how deep (EN 13183 and its neighbours)."""

from dataclasses import dataclass

from drying import measuring
from yard.models import Stack, TallyLine

SHELL_SHARE = 0.1  # of the thickness: where the shell is read (as in drying.casehardening)
LONGEST_LIST = 4


@dataclass(frozen=True, slots=True)
class Due:
    """`boards` of `of` to measure; on each, `from_end_mm` along it, `from_edge_mm` in, pins `depth_mm` deep; core and
    shell depths for boards read twice. Of the commonest size in the stack."""

    boards: int
    of: int
    from_end_mm: tuple[float, ...]
    from_edge_mm: float
    depth_mm: float
    core_mm: float
    shell_mm: float


def due(stack: Stack) -> Due | None:
    """None for a stack without a tally, or of boards that no rule is for. The stack's lines must be at hand."""
    lines: list[TallyLine] = list(stack.lines.all())
    if not lines:
        return None
    usual = max(lines, key=lambda line: line.count)
    try:
        points = measuring.points(usual.length_mm, usual.width_mm, stack.thickness_mm)
    except ValueError:
        return None
    count = sum(line.count for line in lines)
    return Due(
        boards=int(measuring.pieces_to_measure(min(count, 10_000))),
        of=count,
        from_end_mm=tuple(point.from_end_mm for point in points),
        from_edge_mm=points[0].from_edge_mm,
        depth_mm=points[0].depth_mm,
        core_mm=float(measuring.core_depth_mm(stack.thickness_mm)),
        shell_mm=SHELL_SHARE * stack.thickness_mm,
    )
