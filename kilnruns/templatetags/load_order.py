"""In which order a load goes in, by where its pieces lie, and the letter that each stack bears in the drawings.

By hand: the bottom layers first, in a layer what lies at the far end first. By pack: the rear packs first, what stands
below before what stands on it, since a pack in front bars the way to those behind it. Common practice, no source.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kilnruns.templatetags.load_parts import Level, Piece

HATCHES = 8


@dataclass(frozen=True, slots=True)
class Mark:
    """How a stack is marked in the drawings: a letter, and one of the page's hatches. Stacks of one `turn` go in
    together; `pieces` is how many of its boards (or packs) are drawn."""

    code: str
    letter: str
    hatch: int
    pieces: int
    turn: int


def marks_of(levels: Sequence[Level], by_hand: bool = True) -> dict[str, Mark]:
    """A mark for each stack, lettered in the order of loading. Where a stack stands now has no say in its letter, or
    that would change while it is being brought."""
    turns: dict[str, int] = {}
    for turn, piece in _in_turn(levels) if by_hand else _packs_in_turn(levels):
        turns.setdefault(piece.stack, turn)
    counts = Counter(piece.stack for level in levels for piece in level.pieces)
    return {
        code: Mark(code, letter(number), number % HATCHES, counts[code], turns[code])
        for number, code in enumerate(turns)
    }  # fmt: skip


def _in_turn(levels: Iterable[Level]) -> Iterator[tuple[int, Piece]]:
    """Boards with their turns: of a layer all with nothing behind them, then all with one board, and so on."""
    turn = 0
    for level in levels:
        depths = _depths(level)
        ordered = sorted(level.pieces, key=lambda piece: (depths[piece], piece.lane))
        for depth in range(max(depths.values()) + 1):
            yield from ((turn, piece) for piece in ordered if depths[piece] == depth)
            turn += 1


def _packs_in_turn(levels: Sequence[Level]) -> Iterator[tuple[int, Piece]]:
    """Packs with their turns: of all whose place below is taken, those with fewest packs behind them, then lowest."""
    left = [piece for level in levels for piece in level.pieces]
    depths = {piece: depth for level in levels for piece, depth in _depths(level).items()}
    turn = 0
    while left:
        free = [one for one in left if not any(_bears(below, one) for below in left)]
        first = min((depths[one], one.level) for one in free)
        together = sorted((one for one in free if (depths[one], one.level) == first), key=lambda one: one.lane)
        yield from ((turn, one) for one in together)
        left = [one for one in left if one not in together]
        turn += 1


def _depths(level: Level) -> dict[Piece, int]:
    """How many pieces lie behind each in its lane, seen from the door."""
    return {piece: behind for lane in level.lanes for behind, piece in enumerate(reversed(lane))}


def _bears(below: Piece, one: Piece) -> bool:
    along = min(one.x + one.length, below.x + below.length) - max(one.x, below.x)
    across = min(one.y + one.width, below.y + below.width) - max(one.y, below.y)
    return below.level < one.level and along > 0 and across > 0


def letter(number: int) -> str:
    """A to Z, then AA to AZ, BA ...: no load has so many stacks that these run out."""
    turn, place = divmod(number, 26)
    return (letter(turn - 1) if turn else "") + chr(ord("A") + place)


def letters_in(pieces: Iterable[Piece], marks: dict[str, Mark], most: int = 2) -> str:
    """The letters of these pieces' stacks: each of them, or the first and the last where there are more than `most`."""
    found = sorted({marks[piece.stack].letter for piece in pieces}, key=lambda name: (len(name), name))
    return " ".join(found) if len(found) <= most else f"{found[0]}–{found[-1]}"
