"""The room that a load of packs leaves: beside, behind and above them, where another pack could still stand."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kilnruns.templatetags.load_parts import Level, Piece

LEAST_MM = (1000, 300, 100)
"""Length, width and height under which room is not told of: no pack is as small. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Room:
    """A pack up to this size (mm) could stand `where` ("beside", "end" or "top"); `tier` counted from 1, and for "end"
    the `row`."""

    where: str
    tier: int
    row: int
    length_mm: float
    width_mm: float
    height_mm: float

    @property
    def volume_m3(self) -> float:
        return self.length_mm * self.width_mm * self.height_mm / 1e9


def rooms_of(layout: Mapping[str, Any], levels: Sequence[Level]) -> list[Room]:
    """Each by itself, the largest first; none overlaps another. Nothing for boards, whose lanes tell of it.

    A pack beside or behind others stands no higher than its tier where another tier lies on it. On an upper tier only
    the room that has the tier below beneath it counts.
    """
    if layout["kind"] != "pack" or not levels:
        return []
    found = [*_about(layout["space"], levels), *_above(layout["space"], levels[-1])]
    return sorted((one for one in found if _is_of_use(one)), key=lambda one: (-one.volume_m3, one.tier, one.row))


def _is_of_use(room: Room) -> bool:
    sizes = (room.length_mm, room.width_mm, room.height_mm)
    return all(size >= least for size, least in zip(sizes, LEAST_MM, strict=True))


def _about(space: Mapping[str, float], levels: Sequence[Level]) -> Iterator[Room]:
    """Beside a tier, the whole length of the chamber or of the tier below; and behind each of its rows."""
    for number, level in enumerate(levels):
        below = levels[number - 1] if number else None
        height = level.height if number + 1 < len(levels) else space["height_mm"] - level.z
        wide = _widest(below) if below else space["width_mm"]
        shortest = min(map(_length, below.lanes)) if below else space["length_mm"]
        yield Room("beside", number + 1, 0, shortest, wide - _widest(level), height)
        for row, lane in enumerate(level.lanes, start=1):
            width = max(piece.width for piece in lane)
            yield Room("end", number + 1, row, shortest - _length(lane), width, height)


def _above(space: Mapping[str, float], top: Level) -> Iterator[Room]:
    """On the highest tier, on bolsters, as long as its shortest row and as wide as its rows together."""
    free = space["height_mm"] - (top.z + top.height) - space["sticker_mm"]
    level_with = all(piece.height == top.height for piece in top.pieces)
    if level_with:  # on packs of unequal height nothing stands straight
        yield Room("top", top.index + 2, 0, min(map(_length, top.lanes)), _widest(top), free)


def _length(lane: Sequence[Piece]) -> float:
    return max(piece.x + piece.length for piece in lane)


def _widest(level: Level) -> float:
    return max(piece.y + piece.width for piece in level.pieces)
