"""Each layer (or tier) of a load from above, to scale, the door at the left; layers alike share a drawing."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kilnruns.templatetags.load_end import Box, Text, at
from kilnruns.templatetags.load_order import Mark
from kilnruns.templatetags.load_paper import EDGE, PAGE, Sheet
from kilnruns.templatetags.load_parts import Level, Piece, stickers
from kilnruns.templatetags.load_samples import Spot
from yard.measures.told import length_in_drawing

LETTER_HIGH, LETTER_WIDE, WORDS_WIDE = 8.5, 10.0, 42.0


@dataclass(frozen=True, slots=True)
class Panel:
    """One drawing for the layers `first` to `last` (counted from 1), `count` of them; figures are of one layer.

    `samples` are the marks of sample boards, `sampled` the layers that they lie in; `on_paper` the words for print.
    """

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
    samples: list[Text]
    sampled: list[int]
    on_paper: list[Text]


def panels(
    layout: Mapping[str, Any],
    runs: Sequence[Sequence[Level]],
    marks: dict[str, Mark],
    kg_per_m3: Mapping[str, float],
    spots: Sequence[Spot],
    sheet: Sheet | None,
) -> list[Panel]:
    """`sheet` where they are drawn for print too: the words that are large enough there."""
    space = layout["space"]
    words = [sheet.words(run[0], marks) if sheet else [] for run in runs]
    return [_panel(space, run, marks, kg_per_m3, spots, some) for run, some in zip(runs, words, strict=True)]


def alike(levels: Sequence[Level]) -> list[list[Level]]:
    """Neighbouring levels that are alike, together."""
    found: list[list[Level]] = []
    for level in levels:
        if found and level.like(found[-1][0]):
            found[-1].append(level)
        else:
            found.append([level])
    return found


def _panel(
    space: Mapping[str, Any],
    run: Sequence[Level],
    marks: dict[str, Mark],
    kg_per_m3: Mapping[str, float],
    spots: Sequence[Spot],
    on_paper: list[Text],
) -> Panel:
    level, scale = run[0], PAGE / space["length_mm"]
    here = [spot for spot in spots if run[0].index < spot.level <= run[-1].index + 1]
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
        mass_kg=mass_kg(level, kg_per_m3),
        samples=[_sample(spot.piece, scale) for spot in here],
        sampled=sorted({spot.level for spot in here}),
        on_paper=on_paper,
    )


def mass_kg(level: Level, kg_per_m3: Mapping[str, float]) -> float | None:
    """By what the stacks weigh on the first day; else as the plan knew it."""
    if any(piece.stack not in kg_per_m3 for piece in level.pieces):
        return level.mass_kg
    return sum(piece.length * piece.width * piece.height / 1e9 * kg_per_m3[piece.stack] for piece in level.pieces)


def _seen(piece: Piece, marks: dict[str, Mark], scale: float) -> Box:
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
    return letter if width < WORDS_WIDE else f"{letter} {length_in_drawing(length_mm)}"


def _sample(piece: Piece, scale: float) -> Text:
    """Near the door end of its board."""
    return Text(at(piece.x * scale + 8), at((piece.y + piece.width / 2) * scale + EDGE), "")
