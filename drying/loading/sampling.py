"""Where sample boards belong: in reach of the door, where the air enters the load and where it leaves it.

Common practice, no source, as far as the reach goes.
"""

from collections.abc import Mapping, Sequence

from drying.layout import Layer, Placed, SamplePlace, StackWood

REACH_MM, HANDY_MM = 1800.0, 1000.0
"""Heights to which a person reaches without climbing, and at which it is easiest."""
EACH_SIDE = 2


def sample_places(
    placed: Sequence[Placed], layers: Sequence[Layer], woods: Mapping[str, StackWood]
) -> tuple[SamplePlace, ...]:
    """Two at either side of the load, of the wettest stack there and of another, else in other layers. Heights and
    places in mm."""
    found: list[SamplePlace] = []
    for side in ("enters", "leaves"):
        for board in _chosen(_at_the_door(placed, layers, side), woods):
            found.append(SamplePlace(side, board.stack, board.layer, board.lane, board.x_mm, board.y_mm, board.z_mm))
    return tuple(found)


def _at_the_door(placed: Sequence[Placed], layers: Sequence[Layer], side: str) -> list[Placed]:
    """The board nearest to the door in the outermost lane of each layer at this side."""
    last = {layer.index: 0 if side == "enters" else layer.lanes - 1 for layer in layers}
    nearest: dict[int, Placed] = {}
    for board in placed:
        if board.lane == last[board.layer]:
            other = nearest.get(board.layer)
            if other is None or board.x_mm < other.x_mm:
                nearest[board.layer] = board
    return [nearest[index] for index in sorted(nearest)]


def _chosen(boards: Sequence[Placed], woods: Mapping[str, StackWood]) -> list[Placed]:
    reached = [one for one in boards if one.z_mm <= REACH_MM]
    ranked = sorted(reached, key=lambda one: (-_moisture(one, woods), abs(one.z_mm - HANDY_MM), one.layer))
    first = ranked[:1]
    others = [one for one in ranked[1:] if one.stack != first[0].stack] or ranked[1:]
    far = sorted(others, key=lambda one: -abs(one.z_mm - first[0].z_mm)) if first else []
    return sorted([*first, *far[: EACH_SIDE - 1]], key=lambda one: one.layer)


def _moisture(board: Placed, woods: Mapping[str, StackWood]) -> float:
    wood = woods.get(board.stack)
    return wood.moisture_pct if wood else 0.0
