"""The best mix of boards for one run: what each board brings against the lane width that it takes.

A linear program over boards and lanes: a lane holds lengths that fit end to end and is as wide as its widest board
(`drying.loading.lanewidth` finds the lanes that pay), the lanes' widths fill layers, and these the height. Its duals
prove what no load of these boards can exceed, in whatever lanes it lies. With whole numbers it chooses the load itself.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import islice

import numpy as np

from drying.layout import Space
from drying.loading.lanewidth import Kind, LaneWidths
from drying.packing.bars import measured
from drying.packing.solver import INFINITY, Program
from drying.planner.pieces import Lines, Piece, pieces
from drying.planner.task import Task

Lane = tuple[float, tuple[Kind, ...]]
"""Thickness, and the kinds of its boards by width, the widest last."""
HEIGHT, FULL, WATER, FIRST = 0, 1, 2, 3
"""Rows of the program; those of the thicknesses, kinds and stacks come after."""
SEEDS, KNOWN = 120, 4000
"""Lanes of former mixes to begin with, at most; how many of the last ones are looked through for them."""


@dataclass(frozen=True, slots=True)
class Part:
    """Of a stack goes nothing, or from `least` to `most` of the whole, at a cost of `cost` EUR."""

    least: float
    most: float
    cost: float


@dataclass(frozen=True, slots=True)
class Mixed:
    """How many boards of each piece are in the best mix found (fractions too; of undivided stacks: which), its profit
    in EUR, and what no mix can exceed."""

    pieces: Sequence[Piece]
    numbers: Sequence[float]
    profit: float
    bound: float


@lru_cache(maxsize=20_000)
def _counted(kinds: tuple[Kind, ...]) -> tuple[tuple[Kind, float], ...]:
    """How often each kind is in a lane."""
    return tuple((kind, float(number)) for kind, number in Counter(kinds).items())


class Mixer:
    """Mixes for one kiln; the lanes that it meets are kept for the next mix."""

    def __init__(self, task: Task, kiln: int) -> None:
        self.task, self.kiln = task, kiln
        self.lanes: dict[Lane, None] = {}

    def mix(self, start: int, days: int, have: Lines, prices: np.ndarray | None = None, *, rounds: int = 60) -> Mixed:
        """The load of most profit from the boards at hand, each item at its price, for a run of so many days."""
        program = self.program(start, days, have, prices)
        numbers, profit, bound = self._solved(program, rounds)
        full = float(self.task.full_cost(self.kiln, np.array(start), np.array(days)))
        fixed = (1 + self.task.rules.empty_cost) * full
        return Mixed(program.pieces, numbers, profit - fixed, bound - fixed)

    def program(self, start: int, days: int, have: Lines, prices: np.ndarray | None = None) -> "Mix":
        """The mix, not yet solved, with lanes of former ones to begin with."""
        made = Mix(self.task, self.kiln, start, days, pieces(self.task, self.kiln, start, days, have, prices), int)
        made.seed(self.lanes)
        return made

    def solved(self, program: "Mix") -> list[float]:
        """Boards of each piece in the best mix; solved again after stacks were left out it takes far less time."""
        return self._solved(program, 60)[0]

    def _solved(self, program: "Mix", rounds: int) -> tuple[list[float], float, float]:
        known = set(program.lanes)
        found = program.solve(rounds)
        for lane in program.lanes:
            if lane not in known:
                self.lanes.pop(lane, None)
                self.lanes[lane] = None
        return found


@dataclass
class Mix:
    """Most EUR: boards within the places of their kind, lanes within layers, layers within the height, water within
    the heat; a kiln that is not full pays for the rest. `rounding` makes lengths whole: down proves, up can be laid."""

    task: Task
    kiln: int
    start: int
    days: int
    some: Iterable[Piece]
    rounding: Callable[[float], int]
    parts: Mapping[int, Part] = field(default_factory=dict)

    def __post_init__(self) -> None:
        kiln = self.task.kilns[self.kiln]
        self.space: Space = kiln.space
        full = float(self.task.full_cost(self.kiln, np.array(self.start), np.array(self.days)))
        self.rebate = self.task.rules.empty_cost * full
        rate = kiln.heater_kg_water_per_day
        self.water_kg = rate * self.days if rate else INFINITY
        self.pieces = [one for one in self.some if one.brings + self.rebate * one.fills > 0]
        self.classes = {
            thickness: self._lanes([one for one in self.pieces if one.thickness == thickness])
            for thickness in sorted({one.thickness for one in self.pieces})
        }
        kinds = [(thickness, kind) for thickness, lanes in self.classes.items() for kind in lanes.kinds]
        self.widths = {thickness: FIRST + number for number, thickness in enumerate(self.classes)}
        self.places = {key: FIRST + len(self.widths) + number for number, key in enumerate(kinds)}
        self.lanes: dict[Lane, None] = {}
        self.out_of_time = False
        self.program = self._program(whole=False, spare=0.0)
        for thickness, lanes in self.classes.items():
            alike = zip(lanes.kinds, lanes.sizes, lanes.counts, strict=True)
            self._add((thickness, (kind,) * min(count, lanes.capacity // size)) for kind, size, count in alike)

    def _lanes(self, some: Sequence[Piece]) -> LaneWidths:
        counts: dict[Kind, int] = defaultdict(int)
        for one in some:
            counts[one.kind] += one.count
        kinds = sorted(counts)
        sizes, capacity = measured([self.rounding(length) for length, _ in kinds], int(self.space.length_mm))
        return LaneWidths(kinds, [counts[kind] for kind in kinds], sizes, capacity, cuts=0)

    def _program(self, *, whole: bool, spare: float) -> Program:
        """Columns: boards of each piece, layers of each thickness, fullness, whether a stack goes, then the lanes."""
        first = FIRST + len(self.widths) + len(self.places)
        bounds = {stack: (first + 2 * number, first + 2 * number + 1) for number, stack in enumerate(self.parts)}
        upper = np.zeros(first + 2 * len(bounds))
        upper[HEIGHT], upper[WATER] = self.height_mm, self.water_kg
        program = Program([-INFINITY] * len(upper), upper.tolist())
        for one in self.pieces:
            rows, values = [self.places[one.thickness, one.kind], FULL], [1.0, -one.fills]
            if self.water_kg < INFINITY:
                rows, values = [*rows, WATER], [*values, one.water]
            if one.stack in bounds:
                rows, values = [*rows, *bounds[one.stack]], [*values, -one.part, one.part]
            program.add(-one.brings, rows, values, one.count, whole=whole)
        for thickness, row in self.widths.items():
            width = self.space.width_mm * (1 - spare)
            program.add(0.0, [HEIGHT, row], [self.tall_mm(thickness), -width], whole=whole)
        program.add(-self.rebate, [FULL], [1.0], 1.0)
        for stack, rows_of in bounds.items():
            part = self.parts[stack]
            program.add(part.cost, rows_of, [part.least, -part.most], 1.0, whole=whole)
        return program

    def tall_mm(self, thickness: float) -> float:
        return thickness + self.space.sticker_mm

    @property
    def height_mm(self) -> float:
        """What layers can take of the height: of one thickness alone, whole ones."""
        if len(self.classes) != 1:
            return self.space.height_mm + 1e-6
        only = next(iter(self.classes))
        return self.space.layers_of(only) * self.tall_mm(only)

    def seed(self, lanes: Iterable[Lane]) -> None:
        """Begins with those of these lanes that the boards can form, the last ones first."""
        last = islice(reversed(list(lanes)), KNOWN)
        fitting = (lane for lane in last if all((lane[0], kind) in self.places for kind in lane[1]))
        self._add(islice(fitting, SEEDS))

    def leave_out(self, stacks: Sequence[int]) -> None:
        """From now on no board of these stacks goes."""
        gone = set(stacks)
        for number, one in enumerate(self.pieces):
            if one.stack in gone:
                self.program.limit(number, 0.0)
        self.pieces = [replace(one, count=0) if one.stack in gone else one for one in self.pieces]

    def _add(self, lanes: Iterable[Lane]) -> None:
        """As far as they are new ones."""
        fresh = [lane for lane in dict.fromkeys(lanes) if lane not in self.lanes]
        self.lanes |= dict.fromkeys(fresh)
        if fresh:
            self.program.add_free([self._column(lane) for lane in fresh])

    def _column(self, lane: Lane) -> tuple[list[int], list[float]]:
        """Rows and values of a lane."""
        thickness, kinds = lane
        counts = _counted(kinds)
        rows = [self.widths[thickness], *(self.places[thickness, kind] for kind, _ in counts)]
        return rows, [kinds[-1][1], *(-number for _, number in counts)]

    def solve(self, rounds: int = 60) -> tuple[list[float], float, float]:
        """Boards of the pieces in the best mix found, what it brings, and the proven most."""
        bound = float("inf") if self.pieces else self.rebate
        for _ in range(rounds if self.pieces else 0):
            self.program.solve()
            duals = np.maximum(-self.program.duals, 0.0)
            price, better = self._priced(duals)
            bound = min(bound, self._bound(duals, price))
            fresh = [lane for lane in better if lane not in self.lanes]
            if not fresh:
                break
            self._add(fresh)
        else:
            self.program.solve()
        return self.program.values[: len(self.pieces)], -self.program.objective, bound

    def _priced(self, duals: np.ndarray) -> tuple[float, list[Lane]]:
        """The price of a mm of height at which no lane would pay, and the lanes that pay at the present one."""
        height_price, better = 0.0, []
        for thickness, lanes in self.classes.items():
            price = max(float(duals[self.widths[thickness]]), 1e-9)
            worth = duals[[self.places[thickness, kind] for kind in lanes.kinds]] / price
            most, paying = lanes.paying(worth)
            height_price = max(height_price, most * price * self.space.width_mm / self.tall_mm(thickness))
            better += [(thickness, tuple(lanes.kinds[index] for index in lane)) for lane, _ in paying]
        return height_price, better

    def _bound(self, duals: np.ndarray, height_price: float) -> float:
        """What no mix exceeds: all rows at their prices, that of the height raised until no lane pays."""
        total = height_price * self.height_mm + max(0.0, self.rebate - float(duals[FULL]))
        warm = self.water_kg < INFINITY
        total += float(duals[WATER]) * self.water_kg if warm else 0.0
        for one in self.pieces:
            paid = float(duals[self.places[one.thickness, one.kind]] - duals[FULL] * one.fills)
            paid += float(duals[WATER]) * one.water if warm else 0.0
            total += max(0.0, one.brings - paid) * one.count
        return total

    def whole(self, spare: float, nodes: int, seconds: float) -> tuple[list[int], list[Lane]]:
        """Whole boards of each piece and whole lanes out of those found, a share of the width left to spare."""
        program = self._program(whole=True, spare=spare)
        for lane in self.lanes:
            program.add(0.0, *self._column(lane), whole=True)
        found = bool(self.pieces) and program.solve(nodes=nodes, gap=1e-3, seconds=seconds)
        self.out_of_time = bool(self.pieces) and program.out_of_time
        if not found:
            return [0] * len(self.pieces), []
        values = [round(value) for value in program.values]
        uses = values[len(values) - len(self.lanes) :]
        return values[: len(self.pieces)], [
            lane for lane, use in zip(self.lanes, uses, strict=True) for _ in range(use)
        ]
