"""What of the lanes stays free, and in which layers: where boards that are at hand would still fit."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from kilnruns.templatetags.load_parts import Level


@dataclass(frozen=True, slots=True)
class Rest:
    """`lanes` lanes with so much free that boards from `from_mm` to `to_mm` fit, `a_lane` of them in each, `volume_m3`
    in all; `where` are those layers as runs (first, last), counted from 1."""

    lanes: int
    from_mm: float
    to_mm: float
    a_lane: int
    volume_m3: float
    where: list[tuple[int, int]]


def rests_of(layout: Mapping[str, Any], levels: Sequence[Level]) -> list[Rest]:
    """As the plan found them, each for the lanes that the ones before left open; none in a layout that keeps none."""
    found: list[Rest] = []
    most = float("inf")
    for row in layout.get("rests") or ():
        open_levels = [
            level.index + 1 for level in levels if any(row["to_mm"] <= one < most for one in _free(level, layout))
        ]
        sizes = (row["lanes"], row["from_mm"], row["to_mm"], row["a_lane"], row["volume_m3"])
        found.append(Rest(*sizes, where=list(_runs(open_levels))))
        most = row["to_mm"]
    return found


def _free(level: Level, layout: Mapping[str, Any]) -> list[float]:
    return [layout["space"]["length_mm"] - sum(piece.length for piece in lane) for lane in level.lanes]


def _runs(numbers: Sequence[int]) -> Iterator[tuple[int, int]]:
    if not numbers:
        return
    first = numbers[0]
    for one, after in pairwise(numbers):
        if after != one + 1:
            yield first, one
            first = after
    yield first, numbers[-1]
