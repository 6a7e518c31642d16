"""A stack's boards laid out alone in a kiln, for a charge that no plan proposed."""

from dataclasses import dataclass
from typing import Any

from drying.load import Board, Layout, lay_out
from kilnruns.models import Kiln
from kilnruns.planning.answer import drawn
from kilnruns.planning.chambers import space
from yard.models import Stack


@dataclass(frozen=True, slots=True)
class Alone:
    """The drawing, its wood over the space, and that over its upper bound."""

    layout: dict[str, Any]
    fill: float
    of_attainable: float


def alone(stack: Stack, kiln: Kiln) -> Alone:
    """ValueError where the kiln is not loaded by hand, or not all boards fit."""
    boards = [
        Board(stack.code, line.length_mm, line.width_mm, stack.thickness_mm)
        for line in stack.lines.all()
        for _one in range(line.count)
    ]
    found = lay_out(boards, space(kiln), exact=False)
    if not isinstance(found, Layout) or found.unplaced:
        raise ValueError(f"not all {len(boards)} boards of {stack} fit into {kiln}")
    return Alone(drawn(found), found.chamber_fill, found.of_attainable)
