"""The tally of a stack: lines of equal boards, their volume, and a first estimate of its layers. Lengths in mm.

Geometry and counting; sizes that no board has raise ValueError naming size, value and range.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from drying import units
from drying.ranges import within

WIDEST_MM, LONGEST_MM, MOST_BOARDS = 1500, 20_000, 100_000
_WIDTH = re.compile(r"(?:(\d+)[x×*])?(\d+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Line:
    """`count` boards of one length and width, mm. Raises ValueError for sizes or counts no board has."""

    length_mm: int
    width_mm: int
    count: int

    def __post_init__(self) -> None:
        for name, value, top, unit in (
            ("board length", self.length_mm, LONGEST_MM, " mm"),
            ("board width", self.width_mm, WIDEST_MM, " mm"),
            ("number of boards", self.count, MOST_BOARDS, ""),
        ):
            if not 1 <= value <= top:
                raise ValueError(f"{name} {value}{unit} is outside 1 to {top}{unit}")


def volume_m3(lines: Iterable[Line], thickness_mm: float) -> float:
    """Net wood volume, m3, of all lines at one thickness (1..500 mm): the sum of length x width x thickness x count."""
    if not 1 <= thickness_mm <= 500:
        raise ValueError(f"thickness {thickness_mm:g} mm is outside 1 to 500 mm")
    return sum(line.length_mm * line.width_mm * line.count for line in lines) * thickness_mm / 1e9


def board_feet(volume_m3: float) -> float:
    """Board feet in a volume of 0..1000000 m3: 144 in3 each, exactly (no grading rounding of thin stock)."""
    within("volume", volume_m3, 0, 1e6, "m³")
    return float(units.board_feet_from_m3(volume_m3))


def wood_share(thickness_mm: float, sticker_mm: float, width_mm: float = 1.0, gap_mm: float = 0.0) -> float:
    """Share of a stickered stack's gross volume that is wood: t/(t+s) x w/(w+gap) (geometry); the rest is air.

    Thickness 1..500, width 1..1500, sticker 0..500, gap 0..1500 mm; ValueError outside.
    """
    within("thickness", thickness_mm, 1, 500, "mm")
    within("width", width_mm, 1, WIDEST_MM, "mm")
    within("sticker", sticker_mm, 0, 500, "mm")
    within("gap", gap_mm, 0, WIDEST_MM, "mm")
    return thickness_mm / (thickness_mm + sticker_mm) * width_mm / (width_mm + gap_mm)


@dataclass(frozen=True, slots=True)
class LayerEstimate:
    """Layers and lanes (boards end to end) of a stack by simple first fit: an estimate, never the loading plan."""

    layers: int
    lanes: int
    note_code: str = "estimate_first_fit"


def _bins(sizes: Mapping[int, int], capacity: int) -> int:
    """Bins of `capacity` that hold `count` pieces of each size: longest first, into the tightest room left."""
    rooms: Counter[int] = Counter()
    for size in sorted(sizes, reverse=True):
        left = sizes[size]
        for room in sorted(room for room in rooms if room >= size):
            used = min(rooms[room], -(-left // (room // size)))
            rooms[room] -= used
            left -= _fill(rooms, room, size, left, used)
            if not left:
                break
        if left:
            _fill(rooms, capacity, size, left, -(-left // (capacity // size)))
        rooms = +rooms
    return sum(rooms.values())


def _fill(rooms: Counter[int], room: int, size: int, left: int, used: int) -> int:
    """Put up to `left` pieces into `used` bins of equal room, full but for the last; returns how many went in."""
    each = room // size
    placed = min(left, used * each)
    full, rest = divmod(placed, each)
    rooms[room - each * size] += full
    if rest:
        rooms[room - rest * size] += 1
    return placed


def estimate_layers(lines: Sequence[Line], stack_width_mm: int, stack_length_mm: int) -> LayerEstimate:
    """Estimate of lanes and layers (sizes in mm), for a live preview: boards of one width end to end, side by side.

    First fit by length, then by width; no gaps between boards. Raises ValueError for a board larger than the stack, or
    a stack of more than 100 m.
    """
    for name, size in (("stack width", stack_width_mm), ("stack length", stack_length_mm)):
        within(name, size, 1, 100_000, "mm")
    lanes: Counter[int] = Counter()
    for width in sorted({line.width_mm for line in lines}):
        lengths: Counter[int] = Counter()
        for line in lines:
            if line.width_mm == width:
                _must_fit(line, stack_width_mm, stack_length_mm)
                lengths[line.length_mm] += line.count
        lanes[width] = _bins(lengths, stack_length_mm)
    return LayerEstimate(_bins(lanes, stack_width_mm), sum(lanes.values()))


def _must_fit(line: Line, stack_width_mm: int, stack_length_mm: int) -> None:
    if line.length_mm > stack_length_mm:
        raise ValueError(f"board length {line.length_mm} mm is outside 1 to {stack_length_mm} mm, the stack's length")
    if line.width_mm > stack_width_mm:
        raise ValueError(f"board width {line.width_mm} mm is outside 1 to {stack_width_mm} mm, the stack's width")


def layer_count(lines: Sequence[Line], stack_width_mm: int, stack_length_mm: int) -> int:
    """Estimated number of layers in a stack of this width and length, mm (see `estimate_layers`): an estimate."""
    return estimate_layers(lines, stack_width_mm, stack_length_mm).layers


def spread_lines(count: int, shortest_mm: int, longest_mm: int, mean_width_mm: int) -> tuple[Line, ...]:
    """Lines for "about `count` boards, from `shortest_mm` to `longest_mm`, mean width": an assumption, not a tally.

    Up to five lengths evenly apart, both ends included, symmetric about the middle, so the mean length is the middle
    one (to 1 mm) and the count is exact.
    """
    for name, value, top in (
        ("shortest board", shortest_mm, LONGEST_MM),
        ("longest board", longest_mm, LONGEST_MM),
        ("mean width", mean_width_mm, WIDEST_MM),
    ):
        within(name, value, 1, top, "mm")
    if shortest_mm > longest_mm:
        raise ValueError(f"shortest board {shortest_mm} mm is longer than the longest, {longest_mm} mm; swapped?")
    if not 1 <= count <= MOST_BOARDS:
        raise ValueError(f"number of boards {count} is outside 1 to {MOST_BOARDS}")
    middle = (shortest_mm + longest_mm) / 2
    if count == 1 or shortest_mm == longest_mm:
        return (Line(round(middle), mean_width_mm, count),)
    groups = min(count, 5)
    lengths = [round(shortest_mm + (longest_mm - shortest_mm) * i / (groups - 1)) for i in range(groups)]
    counts = [count // groups + (i in _MIDDLE_FIRST[count % groups]) for i in range(groups)]
    return tuple(Line(length, mean_width_mm, n) for length, n in zip(lengths, counts, strict=True))


# Which of five lengths take one board more, so that the spread stays symmetric.
_MIDDLE_FIRST = {0: (), 1: (2,), 2: (1, 3), 3: (1, 2, 3), 4: (0, 1, 3, 4)}


def parse_widths(text: str) -> tuple[tuple[int, int], ...]:
    """Random widths as typed, "150 160 2x175", to ((150, 1), (160, 1), (175, 2)): mm and count, in the order typed.

    Apart by spaces, commas, semicolons or lines; "2x175" is two boards of 175 mm. Raises ValueError naming the word
    that is not a width and how to write it.
    """
    found = []
    for word in re.split(r"[\s,;]+", text.strip()):
        match = _WIDTH.fullmatch(word)
        if not match:
            raise ValueError(f"{word!r} is not a width: write widths in whole mm, like 150 160 2x175")
        count, width = int(match[1] or 1), int(match[2])
        if not 10 <= width <= WIDEST_MM:
            raise ValueError(f"width {width} mm is outside 10 to {WIDEST_MM} mm; write widths in whole mm")
        if not 1 <= count <= MOST_BOARDS:
            raise ValueError(f"number of boards {count} is outside 1 to {MOST_BOARDS}")
        found.append((width, count))
    return tuple(found)
