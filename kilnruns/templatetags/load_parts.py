"""A kept layout read for drawing: the same pieces and levels whether boards lie in layers or packs stand in tiers."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

HATCHES = 8
STICKER_SPACING_MM = 600  # the widest that stickers usually lie apart: common practice, no source
NEAR_MM = 100  # so near a sticker, an end joint needs none of its own


@dataclass(frozen=True, slots=True)
class Piece:
    """A board or a pack: its corner nearest the door, the lane or row it lies in, its size; all in mm."""

    stack: str
    level: int
    lane: int
    x: float
    y: float
    z: float
    length: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Level:
    """A layer or a tier, 0 the lowest; `joints` are the x (mm) where a sticker must lie besides the regular ones."""

    index: int
    z: float
    height: float
    used_width: float
    pieces: tuple[Piece, ...]
    joints: tuple[float, ...]

    @property
    def lanes(self) -> list[list[Piece]]:
        ordered = sorted(self.pieces, key=lambda piece: (piece.lane, piece.x))
        return [list(lane) for _, lane in groupby(ordered, key=lambda piece: piece.lane)]

    @property
    def volume_m3(self) -> float:
        return sum(piece.length * piece.width * piece.height for piece in self.pieces) / 1e9

    def like(self, other: "Level") -> bool:
        """Whether the same boards lie in the same places."""
        return self.height == other.height and _flat(self) == _flat(other)


def _flat(level: Level) -> list[tuple[Any, ...]]:
    return sorted((piece.stack, piece.x, piece.y, piece.length, piece.width) for piece in level.pieces)


@dataclass(frozen=True, slots=True)
class Mark:
    """How a stack is marked in the drawings: a letter, and one of the page's hatches."""

    code: str
    letter: str
    hatch: int
    pieces: int


def levels_of(layout: Mapping[str, Any]) -> list[Level]:
    by_hand = layout["kind"] == "hand"
    pieces = [_board(row) if by_hand else _pack(row) for row in layout["placed"]]
    joints = {layer["index"]: layer["joints_mm"] for layer in layout.get("layers") or ()}
    regular = stickers(layout["space"]["length_mm"])
    ordered = sorted(pieces, key=lambda piece: piece.level)
    return [
        _level(index, tuple(some), [x for x in joints.get(index, ()) if _apart(x, regular)])
        for index, some in groupby(ordered, key=lambda piece: piece.level)
    ]


def _board(row: Mapping[str, Any]) -> Piece:
    size = (row["length_mm"], row["width_mm"], row["thickness_mm"])
    return Piece(row["stack"], row["layer"], row["lane"], row["x_mm"], row["y_mm"], row["z_mm"], *size)


def _pack(row: Mapping[str, Any]) -> Piece:
    size = (row["length_mm"], row["width_mm"], row["height_mm"])
    return Piece(row["stack"], row["tier"], row["row"], row["x_mm"], row["y_mm"], row["z_mm"], *size)


def _level(index: int, pieces: tuple[Piece, ...], joints: Iterable[float]) -> Level:
    return Level(
        index=index,
        z=min(piece.z for piece in pieces),
        height=max(piece.height for piece in pieces),
        used_width=max(piece.y + piece.width for piece in pieces),
        pieces=pieces,
        joints=tuple(joints),
    )


def stickers(length_mm: float) -> list[float]:
    """Where the regular stickers lie along the load, mm from the door: at both ends and evenly between."""
    spaces = max(-(-int(length_mm) // STICKER_SPACING_MM), 1)
    return [length_mm * step / spaces for step in range(spaces + 1)]


def _apart(x: float, regular: Iterable[float]) -> bool:
    return min(abs(x - one) for one in regular) > NEAR_MM


def marks_of(levels: Iterable[Level]) -> dict[str, Mark]:
    """A mark for each stack, lettered in the order in which they are loaded."""
    counts = Counter(piece.stack for level in levels for piece in sorted(level.pieces, key=lambda piece: piece.lane))
    return {
        code: Mark(code, letter(number), number % HATCHES, count) for number, (code, count) in enumerate(counts.items())
    }


def letter(number: int) -> str:
    """A to Z, then AA to AZ, BA ...: no load has so many stacks that these run out."""
    turn, place = divmod(number, 26)
    return (letter(turn - 1) if turn else "") + chr(ord("A") + place)


def sample_levels(levels: list[Level]) -> list[int]:
    """Where sample boards go: a quarter up and a quarter down, never in the same layer unless there is but one."""
    quarter = len(levels) // 4
    return sorted({quarter, len(levels) - 1 - quarter}) if levels else []
