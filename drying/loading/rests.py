"""What stays open at the lanes' ends: which lengths would fill it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from drying.layout import LaneRest, Placed

SHORTEST_MM = 500
"""Shorter boards are not sawn to fill a lane: a choice."""
STEP_MM = 100
FILLING = 0.8
"""Boards of this share of the rest still fill it well: a choice."""
MOST = 3

Lane = tuple[float, float, float]
"""Open length, width and thickness, mm."""


def lane_rests(placed: Iterable[Placed], length_mm: float) -> tuple[LaneRest, ...]:
    """The lengths (down to 0.1 m) that would bring most wood into the open ends, each for the lanes that the ones
    before left open; at most three. Lengths in mm."""
    lanes = _open(placed, length_mm)
    found: list[LaneRest] = []
    while len(found) < MOST:
        steps = sorted({int(rest // STEP_MM) * STEP_MM for rest, _, _ in lanes if rest >= SHORTEST_MM})
        if not steps:
            break
        best = max((_filling(lanes, step) for step in steps), key=lambda one: (one.volume_m3, one.to_mm))
        found.append(best)
        lanes = [one for one in lanes if one[0] < best.to_mm]
    return tuple(found)


def _open(placed: Iterable[Placed], length_mm: float) -> list[Lane]:
    lanes: dict[tuple[int, int], list[Placed]] = defaultdict(list)
    for board in placed:
        lanes[board.layer, board.lane].append(board)
    return [
        (
            length_mm - sum(one.length_mm for one in boards),
            max(one.width_mm for one in boards),
            boards[0].thickness_mm,
        )
        for boards in lanes.values()
    ]


def _filling(lanes: Sequence[Lane], step_mm: int) -> LaneRest:
    """Boards up to this length in every lane that takes one."""
    wide = [one for one in lanes if one[0] >= step_mm]
    volume = sum(int(rest // step_mm) * step_mm * width * thickness * 1e-9 for rest, width, thickness in wide)
    shortest = max(SHORTEST_MM, int(FILLING * step_mm // STEP_MM) * STEP_MM)
    number = int(min(rest for rest, _, _ in wide) // step_mm)
    return LaneRest(min(rest for rest, _, _ in wide), shortest, step_mm, len(wide), number, volume)
