"""Where on a label its symbols and its words go, so that the symbols are as large as the label lets them."""

from typing import NamedTuple

from django.utils.translation import gettext as _

from yard.labels.sheet import Box, LabelError
from yard.labels.symbol import QUIET_MODULES

LARGEST_SYMBOL_MM = {2: 70.0, 1: 35.0}
LEAST_MODULE_MM = {2: 0.8, 1: 0.5}
"""Below this a label is refused. A phone's frame 1280 px wide that spans 60 degrees sees 2.5 px a module at 440 mm for
each mm of module (computed): 0.35 m and 0.22 m here, 1.1 m for a symbol of 70 mm. Clean symbols are read from 1.75 px a
module on (tests/bench/bench_tags.py); the rest is for hands, dirt and weather."""

_WORDS_BESIDE_MM = {2: 24.0, 1: 16.0}
_WORDS_BENEATH_MM = {2: 17.0, 1: 7.0}


class Arrangement(NamedTuple):
    """`symbols` are with their quiet zones; `stacked`: the words' box is a column, the code goes in three rows."""

    symbols: tuple[Box, ...]
    words: Box
    stacked: bool
    module_mm: float


def arrange(cell: Box, symbols: int, side_modules: int) -> Arrangement:
    """The arrangement with the largest modules; LabelError where they get too small."""
    inner = cell.inset(min(3.0, 0.05 * min(cell.width, cell.height)))
    sides = _sides_two(inner) if symbols == 2 else _sides_one(inner)
    place = max(sides, key=lambda name: sides[name])
    across = side_modules + 2 * QUIET_MODULES
    side = min(sides[place], LARGEST_SYMBOL_MM[symbols] * across / side_modules)
    if side / across < LEAST_MODULE_MM[symbols]:
        raise LabelError(_too_small(cell, symbols))
    boxes, words = _placed(inner, side, symbols, place)
    return Arrangement(boxes, words, place == "beside", side / across)


def _sides_two(inner: Box) -> dict[str, float]:
    """Side left for each symbol with the words beneath both, between left and right, or between upper and lower."""
    beneath = max(_WORDS_BENEATH_MM[2], 0.22 * inner.height)
    beside = max(_WORDS_BESIDE_MM[2], 0.2 * inner.width)
    return {
        "beneath": min(inner.width / 2, inner.height - beneath),
        "beside": min((inner.width - beside) / 2, inner.height),
        "between": min(inner.width, (inner.height - beneath) / 2),
    }


def _sides_one(inner: Box) -> dict[str, float]:
    return {
        "beneath": min(inner.width, inner.height - max(_WORDS_BENEATH_MM[1], 0.2 * inner.height)),
        "beside": min(inner.width - max(_WORDS_BESIDE_MM[1], 0.3 * inner.width), inner.height),
    }


def _placed(inner: Box, side: float, symbols: int, place: str) -> tuple[tuple[Box, ...], Box]:
    x, y, width, height = inner
    right, upper, middle = x + width - side, y + height - side, y + (height - side) / 2
    centre = x + (width - side) / 2
    if place == "between":
        return _squares(side, (centre, upper), (centre, y)), Box(x, y + side, width, height - 2 * side)
    if place == "beneath":
        corners = ((x, upper), (right, upper)) if symbols == 2 else ((centre, upper),)
        return _squares(side, *corners), Box(x, y, width, height - side)
    corners = ((x, middle), (right, middle)) if symbols == 2 else ((x, middle),)
    return _squares(side, *corners), Box(x + side, y, width - symbols * side, height)


def _squares(side: float, *corners: tuple[float, float]) -> tuple[Box, ...]:
    return tuple(Box(x, y, side, side) for x, y in corners)


def _too_small(cell: Box, symbols: int) -> str:
    size = {"width": round(cell.width), "height": round(cell.height)}
    if symbols == 2:
        message = _("A label of %(width)s by %(height)s mm is too small for two symbols that a phone can read. "
                    "Take a larger label, or print board tags.")  # fmt: skip
    else:
        message = _("A label of %(width)s by %(height)s mm is too small for a symbol that a phone can read. "
                    "Take a larger label.")  # fmt: skip
    return message % size
