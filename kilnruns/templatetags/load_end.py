"""The load seen from the door, to scale: lanes' ends on their stickers, what stays open, where sample boards go."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from kilnruns.templatetags.load_order import Mark, letters_in
from kilnruns.templatetags.load_parts import Level, Piece
from kilnruns.templatetags.load_samples import SET_BACK_MM, Spot

PAGE, SIDE, TOP, FOOT = 360.0, 30.0, 8.0, 8.0
TALLEST = 330.0
LINE = 13.0  # room that a line of text takes, as on paper


def at(value: float) -> str:
    """A place as an attribute of SVG, never in the locale's digits."""
    return f"{value:.1f}"


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with its hatch and, where there is room for it, its words; all as attributes."""

    x: str
    y: str
    width: str
    height: str
    hatch: int = 0
    words: str = ""
    text_x: str = ""
    text_y: str = ""
    set_back: bool = False


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a place; `beside` begins there, others stand about it."""

    x: str
    y: str
    words: str
    beside: bool = False


@dataclass(frozen=True, slots=True)
class EndView:
    height: str
    space: Box
    boxes: list[Box]
    stickers: list[Box]
    numbers: list[Text]
    letters: list[Text]
    samples: list[Text]
    top_gap: Box | None
    top_gap_mm: float


class Frame:
    """Millimetres across and up to the drawing's units."""

    def __init__(self, space: Mapping[str, Any]) -> None:
        self.width_mm, self.height_mm = space["width_mm"], space["height_mm"]
        self.scale = min((PAGE - 2 * SIDE) / self.width_mm, TALLEST / self.height_mm)
        self.left = (PAGE - self.width_mm * self.scale) / 2

    def box(self, y: float, z: float, width: float, height: float, **more: Any) -> Box:
        top = self.up(z + height)
        return Box(
            at(self.left + y * self.scale), at(top), at(width * self.scale), at(height * self.scale), **more
        )  # fmt: skip

    def up(self, z: float) -> float:
        return TOP + (self.height_mm - z) * self.scale

    def across(self, y: float) -> float:
        return self.left + y * self.scale


def end_view(
    layout: Mapping[str, Any], levels: Sequence[Level], marks: dict[str, Mark], spots: Sequence[Spot]
) -> EndView:
    frame = Frame(layout["space"])
    sticker = layout["space"]["sticker_mm"]
    top = max((level.z + level.height for level in levels), default=0.0)
    gap = frame.height_mm - top
    return EndView(
        height=at(TOP + frame.height_mm * frame.scale + FOOT),
        space=frame.box(0, 0, frame.width_mm, frame.height_mm),
        boxes=[_face(frame, lane, marks) for level in levels for lane in level.lanes],
        stickers=[frame.box(0, level.z - sticker, level.used_width, sticker) for level in levels],
        numbers=_spaced([(frame, level, str(level.index + 1)) for level in levels], frame.left - 5),
        letters=_letters(frame, levels, marks),
        samples=[_sample(frame, spot) for spot in spots],
        top_gap=frame.box(0, top, frame.width_mm, gap) if gap * frame.scale > LINE else None,
        top_gap_mm=gap,
    )


def _face(frame: Frame, lane: Sequence[Piece], marks: Mapping[str, Mark]) -> Box:
    """The piece of a lane that lies nearest the door."""
    piece = min(lane, key=lambda piece: piece.x)
    mark = marks[piece.stack]
    fits = piece.height * frame.scale > LINE and piece.width * frame.scale > LINE
    return frame.box(
        piece.y, piece.z, piece.width, piece.height,
        hatch=mark.hatch,
        words=mark.letter if fits else "",
        text_x=at(frame.across(piece.y + piece.width / 2)),
        text_y=at(frame.up(piece.z + piece.height / 2) + 4),
        set_back=piece.x > SET_BACK_MM,
    )  # fmt: skip


def _spaced(found: Sequence[tuple[Frame, Level, str]], x: float) -> list[Text]:
    """Words beside the levels, left out where they would stand on the one before."""
    texts: list[Text] = []
    last = None
    for frame, level, words in found:
        y = frame.up(level.z + level.height / 2) + 4
        if last is None or last - y >= LINE:
            texts.append(Text(at(x), at(y), words))
            last = y
    return texts


def _letters(frame: Frame, levels: Sequence[Level], marks: dict[str, Mark]) -> list[Text]:
    """Beside each run of levels with the same stacks in it, their letters."""
    found = []
    for words, run in groupby(levels, key=lambda level: letters_in(level.pieces, marks)):
        some = list(run)
        found.append((frame, some[len(some) // 2], words))
    return _spaced(found, frame.across(frame.width_mm) + 5)


def _sample(frame: Frame, spot: Spot) -> Text:
    """On the outer edge of its board's face."""
    piece = spot.piece
    y = piece.y if spot.is_left else piece.y + piece.width
    return Text(at(frame.across(y)), at(frame.up(piece.z + piece.height / 2)), "")
