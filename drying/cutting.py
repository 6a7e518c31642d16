"""Which boards to rip and crosscut into what is wanted, with least wood and few cuts: cutting stock, proven.

Boards are ripped along their whole length into strips, strips crosscut into pieces of the strip's width. A linear
program over such patterns (Gilmore and Gomory 1961 and 1965, from memory) gives the bound, an integer program on HiGHS
over the patterns found gives the plan. Sizes are whole mm of wood that is dry: planing and trimming come on top of
what is wanted, or off the boards, before it is asked. ValueError names quantity, value and range.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from drying.packing.solver import INFINITY, Program
from drying.packing.strips import Kind, Pattern, Pricer
from drying.ranges import within

SHORT_TIMES = 10.0  # what is lacking costs this many of the largest board for each that would have to be cut
TOLERANCE = 1e-7
GREEDY_ROUNDS = 12


@dataclass(frozen=True, slots=True)
class Stock:
    """So many boards of one size, mm, dry and trimmed."""

    length_mm: int
    width_mm: int
    count: int


@dataclass(frozen=True, slots=True)
class Want:
    """So many pieces of a size in mm, before planing. Without a length, `amount` is in m of strips as long as they
    come; without a width as well, in m² of whole boards."""

    amount: float
    length_mm: int | None = None
    width_mm: int | None = None


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip of a width, mm, and what is crosscut from it: indices of the wants, in order."""

    width_mm: int
    pieces: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """`times` boards of one stock are cut the same way; `whole` is the want that takes them uncut."""

    stock: int
    times: int
    strips: tuple[Strip, ...]
    whole: int | None = None


@dataclass(frozen=True, slots=True)
class CutPlan:
    """`short` is what is lacking of each want, in its unit; `used_m2` the area of the boards taken, `cut_count` cuts.

    No plan of this kind costs less than `bound`; `cost` is the area, the cuts at their price, and what is short.
    """

    cuts: tuple[Cut, ...]
    short: tuple[float, ...]
    used_m2: float
    wanted_m2: float
    cut_count: int
    cost: float
    bound: float

    @property
    def gap(self) -> float:
        """The most by which a better plan could undercut it, 0 to 1."""
        return max(0.0, 1 - self.bound / self.cost) if self.cost > 0 else 0.0

    @property
    def waste(self) -> float:
        """The share of the boards taken that is cut away."""
        return 1 - self.wanted_m2 / self.used_m2 if self.used_m2 else 0.0


def cut(
    stock: Sequence[Stock],
    wanted: Sequence[Want],
    *,
    kerf_mm: int = 4,
    cut_m2: float = 1e-4,
    nodes: int = 2000,
    seconds: float = 5.0,
) -> CutPlan:
    """The plan of least cost: area of the boards taken, m², and `cut_m2` a cut (0..1 m², our own choice of a price).

    Boards and pieces 1..20000 mm long, 1..2000 mm wide, counts 0..100000, kerf 0..20 mm (4: common practice, no
    source). What the stock does not yield is told as `short`.
    """
    _check(stock, wanted, kerf_mm, cut_m2)
    search = _Search(stock, wanted, int(kerf_mm), float(cut_m2))
    search.relax()
    search.greedy()
    return search.plan(nodes, seconds)


def _check(stock: Sequence[Stock], wanted: Sequence[Want], kerf_mm: float, cut_m2: float) -> None:
    within("kerf", kerf_mm, 0, 20, "mm")
    within("price of a cut", cut_m2, 0, 1, "m²")
    for board in stock:
        within("board's length", board.length_mm, 1, 20_000, "mm")
        within("board's width", board.width_mm, 1, 2000, "mm")
        within("number of boards", board.count, 0, 100_000, "")
    for want in wanted:
        within("amount wanted", want.amount, 0, 100_000, "")
        within("wanted length", want.length_mm or 1, 1, 20_000, "mm")
        within("wanted width", want.width_mm or 1, 1, 2000, "mm")
        if want.length_mm and not want.width_mm:
            raise ValueError(f"wanted width {want.width_mm} is outside 1 to 2000 mm: a length needs its width")
        if want.length_mm and not float(want.amount).is_integer():
            raise ValueError(f"amount wanted {want.amount:g} is outside 0 to 100000 whole pieces")


class _Search:
    """Rows of the program: wants, then stocks. Columns: what is short, then patterns."""

    def __init__(self, stock: Sequence[Stock], wanted: Sequence[Want], kerf: int, cut_price: float) -> None:
        self.stock, self.wanted = stock, wanted
        kinds = [Kind(want.length_mm or 0, want.width_mm or 0, want.amount) for want in wanted]
        self.pricer = Pricer(kinds, [(board.length_mm, board.width_mm) for board in stock], kerf, cut_price)
        self.areas = [board.length_mm * board.width_mm / 1e6 for board in stock]
        self.amounts = np.array([want.amount for want in wanted], float)
        self.short_prices = np.array([self._short_price(want) for want in wanted])
        self.patterns: dict[Pattern, int] = {}
        self.bound, self.prices = 0.0, self.short_prices.copy()

    def _short_price(self, want: Want) -> float:
        largest = max(self.areas, default=1.0)
        if want.length_mm:
            return SHORT_TIMES * largest
        each = [
            board.length_mm / 1000 if want.width_mm else area
            for board, area in zip(self.stock, self.areas, strict=True)
        ]
        return SHORT_TIMES * largest / min(each, default=1.0)

    def cost(self, pattern: Pattern) -> float:
        return self.areas[pattern.board] + self.pricer.cuts(pattern) * self.pricer.cut_price

    def relax(self, rounds: int = 400) -> None:
        """Patterns by their prices until none pays, with the best bound on the way."""
        program = self._program(whole=False)
        for _ in range(rounds):
            program.solve()
            duals = program.duals
            prices = np.clip(duals[: len(self.wanted)], 0.0, self.short_prices)
            found = self.pricer.best(prices, self.amounts)
            saved = [worth - area for (worth, _), area in zip(found, self.areas, strict=True)]
            extra = sum(board.count * max(one, 0.0) for board, one in zip(self.stock, saved, strict=True))
            if float(prices @ self.amounts) - extra > self.bound:
                self.bound, self.prices = float(prices @ self.amounts) - extra, prices
            rents = -duals[len(self.wanted) :]
            new = [one[1] for one, gain, rent in zip(found, saved, rents, strict=True) if gain - rent > TOLERANCE]
            fresh = [pattern for pattern in new if pattern not in self.patterns]
            if not fresh:
                break
            for pattern in fresh:
                self._add(program, pattern, whole=False)

    def greedy(self) -> None:
        """Whole plans, board after board, at prices that are shaken a little: patterns that end well."""
        random = np.random.default_rng(7)
        for turn in range(GREEDY_ROUNDS):
            prices = self.prices * (random.uniform(0.8, 1.2, len(self.wanted)) if turn else 1.0) + TOLERANCE
            self._one_by_one(prices)

    def _one_by_one(self, prices: np.ndarray) -> None:
        left, boards = self.amounts.copy(), [board.count for board in self.stock]
        while (left > TOLERANCE).any():
            found = self.pricer.best(prices, left)
            ranked = [
                (worth / area, -at)
                for at, ((worth, _), area) in enumerate(zip(found, self.areas, strict=True))
                if boards[at] and worth > 0
            ]
            if not ranked:
                return
            at = -max(ranked)[1]
            pattern = found[at][1]
            self.patterns.setdefault(pattern, len(self.patterns))
            given = np.array(self.pricer.given(pattern))
            times = min([boards[at], *(int(has // gives) for has, gives in zip(left, given, strict=True) if gives)])
            times = max(times, 1)
            boards[at] -= times
            left = np.maximum(left - times * given, 0.0)

    def _program(self, whole: bool) -> Program:
        counts = [board.count for board in self.stock]
        lower = [*self.amounts, *([-INFINITY] * len(counts))]
        program = Program(lower, [*([INFINITY] * len(self.wanted)), *counts])
        for row, price in enumerate(self.short_prices):
            program.add(float(price), [row], [1.0])
        for pattern in self.patterns:
            self._add(program, pattern, whole)
        return program

    def _add(self, program: Program, pattern: Pattern, whole: bool) -> None:
        self.patterns.setdefault(pattern, len(self.patterns))
        given = self.pricer.given(pattern)
        rows = [row for row, one in enumerate(given) if one]
        values = [given[row] for row in rows]
        program.add(self.cost(pattern), [*rows, len(self.wanted) + pattern.board], [*values, 1.0], whole=whole)

    def plan(self, nodes: int, seconds: float) -> CutPlan:
        program = self._program(whole=True)
        solved = program.solve(nodes=nodes, gap=0.0, seconds=seconds)
        uses = [round(one) for one in program.values[len(self.wanted) :]] if solved else [0] * len(self.patterns)
        return self._told(
            self._trimmed([(pattern, use) for pattern, use in zip(self.patterns, uses, strict=True) if use])
        )

    def _trimmed(self, uses: list[tuple[Pattern, int]]) -> list[Pattern]:
        """Every board with what is still wanted of its pattern: nothing is cut that nobody asked for."""
        left, boards = self.amounts.copy(), []
        for pattern in (one for one, times in uses for _ in range(times)):
            length = self.stock[pattern.board].length_mm
            strips = [(width, self._needed(counts, left, length)) for width, counts in pattern.strips]
            strips = [(width, counts) for width, counts in strips if any(counts)]
            whole = pattern.whole
            if whole is not None:
                whole = whole if left[whole] > TOLERANCE else None
                left -= np.array(self.pricer.given(pattern))
            if strips or whole is not None:
                boards.append(Pattern(pattern.board, tuple(strips), whole))
        return boards

    def _needed(self, counts: tuple[int, ...], left: np.ndarray, length: int) -> tuple[int, ...]:
        """Takes from `left` what a strip gives of it."""
        taken = []
        for kind, count in enumerate(counts):
            gives = 1.0 if self.wanted[kind].length_mm else length / 1000
            number = min(count, max(ceil(left[kind] / gives - TOLERANCE), 0))
            left[kind] -= number * gives
            taken.append(number)
        return tuple(taken)

    def _told(self, boards: list[Pattern]) -> CutPlan:
        given = np.sum([self.pricer.given(one) for one in boards], axis=0) if boards else np.zeros(len(self.wanted))
        short = np.maximum(self.amounts - given, 0.0)
        counted = Counter(boards)
        used = sum(self.areas[one.board] for one in boards)
        cuts = sum(self.pricer.cuts(one) for one in boards)
        cost = used + cuts * self.pricer.cut_price + float(short @ self.short_prices)
        return CutPlan(
            cuts=tuple(_cut(pattern, times) for pattern, times in counted.items()),
            short=tuple(short.tolist()),
            used_m2=used,
            wanted_m2=sum(
                self._area_m2(want, float(one)) for want, one in zip(self.wanted, self.amounts - short, strict=True)
            ),
            cut_count=cuts,
            cost=cost,
            bound=min(self.bound, cost),
        )

    def _area_m2(self, want: Want, amount: float) -> float:
        if want.length_mm and want.width_mm:
            return amount * want.length_mm * want.width_mm / 1e6
        return amount * want.width_mm / 1000 if want.width_mm else amount


def _cut(pattern: Pattern, times: int) -> Cut:
    strips = tuple(
        Strip(width, tuple(kind for kind, count in enumerate(counts) for _ in range(count)))
        for width, counts in pattern.strips
    )
    return Cut(pattern.board, times, strips, pattern.whole)
