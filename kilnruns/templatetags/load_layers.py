"""Each layer (or tier) of a load from above, to scale, the door at the left; layers alike share a drawing."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.formats import number_format

from kilnruns.templatetags.load_end import Box, at
from kilnruns.templatetags.load_parts import Level, Mark, Piece, stickers

PAGE, EDGE = 360.0, 7.0
LETTER_HIGH, LETTER_WIDE, WORDS_WIDE = 8.5, 10.0, 42.0
# What a page of paper has for the panels, mm: below the end view, on A4 and Letter both.
PAPER_WIDTH_MM, PAPER_HEIGHT_MM, CAPTION_MM, GUTTER_MM = 186.0, 128.0, 6.5, 3.0
MOST_COLUMNS = 5


@dataclass(frozen=True, slots=True)
class Panel:
    """One drawing for the layers `first` to `last` (counted from 1), `count` of them; figures are of one layer."""

    first: int
    last: int
    count: int
    height: str
    space: Box
    boxes: list[Box]
    stickers: list[str]
    joints: list[str]
    thickness_mm: float
    pieces: int
    letters: list[tuple[str, int]]
    mass_kg: float | None


def panels(
    layout: Mapping[str, Any], levels: Sequence[Level], marks: Mapping[str, Mark], kg_per_m3: Mapping[str, float]
) -> list[Panel]:
    return [_panel(layout["space"], run, marks, kg_per_m3) for run in _runs(levels)]


def _runs(levels: Sequence[Level]) -> list[list[Level]]:
    """Neighbouring levels that are alike, together."""
    found: list[list[Level]] = []
    for level in levels:
        if found and level.like(found[-1][0]):
            found[-1].append(level)
        else:
            found.append([level])
    return found


def _panel(
    space: Mapping[str, Any], run: Sequence[Level], marks: Mapping[str, Mark], kg_per_m3: Mapping[str, float]
) -> Panel:
    level, scale = run[0], PAGE / space["length_mm"]
    letters = Counter(marks[piece.stack].letter for piece in level.pieces)
    width = space["width_mm"] * scale
    return Panel(
        first=level.index + 1,
        last=run[-1].index + 1,
        count=len(run),
        height=at(width + 2 * EDGE),
        space=Box("0", at(EDGE), at(PAGE), at(width)),
        boxes=[_seen(piece, marks, scale) for piece in level.pieces],
        stickers=[at(min(max(x * scale, 1.5), PAGE - 1.5)) for x in stickers(space["length_mm"])],
        joints=[at(x * scale) for x in level.joints],
        thickness_mm=level.height,
        pieces=len(level.pieces),
        letters=sorted(letters.items(), key=lambda item: (len(item[0]), item[0])),
        mass_kg=_mass_kg(level, kg_per_m3),
    )


def _mass_kg(level: Level, kg_per_m3: Mapping[str, float]) -> float | None:
    if any(piece.stack not in kg_per_m3 for piece in level.pieces):
        return None
    return sum(piece.length * piece.width * piece.height / 1e9 * kg_per_m3[piece.stack] for piece in level.pieces)


def _seen(piece: Piece, marks: Mapping[str, Mark], scale: float) -> Box:
    mark = marks[piece.stack]
    x, y, width, height = (value * scale for value in (piece.x, piece.y, piece.length, piece.width))
    return Box(
        at(x),
        at(y + EDGE),
        at(width),
        at(height),
        hatch=mark.hatch,
        words=_words(mark.letter, piece.length, width, height),
        text_x=at(x + width / 2),
        text_y=at(y + EDGE + height / 2 + 3),
    )


def _words(letter: str, length_mm: float, width: float, height: float) -> str:
    if height < LETTER_HIGH or width < LETTER_WIDE:
        return ""
    return letter if width < WORDS_WIDE else f"{letter} {number_format(length_mm / 1000, 2)}"


def columns_on_paper(space: Mapping[str, Any], count: int) -> int:
    """How many panels stand side by side on the load sheet, so that all of them fit its page."""
    for columns in range(2, MOST_COLUMNS):
        wide = (PAPER_WIDTH_MM - (columns - 1) * GUTTER_MM) / columns
        high = wide * (space["width_mm"] / space["length_mm"] + 2 * EDGE / PAGE) + CAPTION_MM
        if -(-count // columns) * high <= PAPER_HEIGHT_MM:
            return columns
    return MOST_COLUMNS
