"""A kept layout read for drawing: the same pieces and levels whether boards lie in layers or packs stand in tiers."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

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
    """A layer or a tier, 0 the lowest; `joints` are the x (mm) where a sticker must lie besides the regular ones.

    `mass_kg` is its wood as the plan knew it; None where the plan did not.
    """

    index: int
    z: float
    height: float
    used_width: float
    pieces: tuple[Piece, ...]
    joints: tuple[float, ...]
    mass_kg: float | None = None

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


def under_own_codes(layout: Mapping[str, Any], items: Iterable[Any]) -> dict[str, Any]:
    """The layout with each stack under the code that it bears now: a tag may have been replaced since it was made."""
    stacks = [item.stack for item in items if hasattr(item.stack, "tags")]
    now = {tag.code: stack.code for stack in stacks for tag in stack.tags.all()}
    return {**layout, "placed": [{**row, "stack": now.get(row["stack"], row["stack"])} for row in layout["placed"]]}


def levels_of(layout: Mapping[str, Any]) -> list[Level]:
    by_hand = layout["kind"] == "hand"
    pieces = [_board(row) if by_hand else _pack(row) for row in layout["placed"]]
    layers = {layer["index"]: layer for layer in layout.get("layers") or ()}
    regular = stickers(layout["space"]["length_mm"])
    ordered = sorted(pieces, key=lambda piece: piece.level)
    return [
        _level(index, tuple(some), layers.get(index, {}), regular)
        for index, some in groupby(ordered, key=lambda piece: piece.level)
    ]


def _board(row: Mapping[str, Any]) -> Piece:
    size = (row["length_mm"], row["width_mm"], row["thickness_mm"])
    return Piece(row["stack"], row["layer"], row["lane"], row["x_mm"], row["y_mm"], row["z_mm"], *size)


def _pack(row: Mapping[str, Any]) -> Piece:
    size = (row["length_mm"], row["width_mm"], row["height_mm"])
    return Piece(row["stack"], row["tier"], row["row"], row["x_mm"], row["y_mm"], row["z_mm"], *size)


def _level(index: int, pieces: tuple[Piece, ...], layer: Mapping[str, Any], regular: Iterable[float]) -> Level:
    return Level(
        index=index,
        z=min(piece.z for piece in pieces),
        height=max(piece.height for piece in pieces),
        used_width=max(piece.y + piece.width for piece in pieces),
        pieces=pieces,
        joints=tuple(x for x in layer.get("joints_mm", ()) if _apart(x, regular)),
        mass_kg=layer.get("mass_kg"),
    )


def stickers(length_mm: float) -> list[float]:
    """Where the regular stickers lie along the load, mm from the door: at both ends and evenly between."""
    spaces = max(-(-int(length_mm) // STICKER_SPACING_MM), 1)
    return [length_mm * step / spaces for step in range(spaces + 1)]


def _apart(x: float, regular: Iterable[float]) -> bool:
    return min(abs(x - one) for one in regular) > NEAR_MM
