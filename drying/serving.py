"""Who gets what: needs served out of stacks, each volume once, as early as wanted and out of few stacks.

A transport problem with a charge for each stack that a need is served from, as a mixed-integer program on HiGHS (from
memory: the fixed-charge transportation problem, Balinski 1961). Volumes are green m³; days count from any first day.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import scipy
from numpy.typing import ArrayLike, NDArray

from drying.packing.solver import INFINITY, Program
from drying.ranges import FloatArray, within

SHORT = 100.0  # what a missing m³ costs, as days late do: our own choice, above any lateness that is served
DAY = 0.1  # a m³ that is a day late
PAIR = 0.2  # each stack that a need is served from
LATEST = 500.0  # days: what is later is as late


IntArray = NDArray[np.int64]
Pair = tuple[int, int, float, float]
"""Demand, lot, the most m³ between them, and what a m³ costs."""


@dataclass(frozen=True, slots=True)
class Lot:
    """A stack's free green volume, m³ (0..10000), and the day on which it is dry enough (inf: nobody can say)."""

    volume_m3: float
    day: float

    def __post_init__(self) -> None:
        within("free volume", self.volume_m3, 0, 10_000, "m³")
        if self.day != np.inf:
            within("day when dry", self.day, -1e5, 1e5, "days")


@dataclass(frozen=True, slots=True)
class Demand:
    """Green volume wanted, m³ (0..10000), by a day, with a weight (0.01..100) for how much it matters, and the lots
    that would do, by their indices, each with what of it is wasted in planing, 0..1."""

    volume_m3: float
    day: float
    weight: float = 1.0
    lots: tuple[int, ...] = ()
    waste: tuple[float, ...] = field(default=())

    def __post_init__(self) -> None:
        within("wanted volume", self.volume_m3, 0, 10_000, "m³")
        within("day wanted", self.day, -1e5, 1e5, "days")
        within("weight", self.weight, 0.01, 100, "")
        within("waste", self.waste or (0.0,) * len(self.lots), 0, 1, "")


@dataclass(frozen=True, slots=True)
class Sharing:
    """`shares`: (demand, lot, m³); `short` m³ a demand; no sharing costs less than `bound`."""

    shares: tuple[tuple[int, int, float], ...]
    short: FloatArray
    cost: float
    bound: float

    @property
    def gap(self) -> float:
        """The most by which a better one could undercut it, 0 to 1."""
        return max(0.0, 1 - self.bound / self.cost) if self.cost > 1e-9 else 0.0


def share_out(lots: Sequence[Lot], demands: Sequence[Demand], *, nodes: int = 2000, seconds: float = 6.0) -> Sharing:
    """The sharing of least cost: weight x (100 a m³ short, 0.1 a m³ and day late), 1 a m³ wasted, 0.2 a pair (our own
    choice of prices), volumes in m3. ValueError for a lot that there is not."""
    for demand in demands:
        if any(not 0 <= lot < len(lots) for lot in demand.lots):
            raise ValueError(f"lots of a demand {max(demand.lots)} is outside 0 to {len(lots) - 1}")
    pairs = [
        (at, lot, min(demand.volume_m3, lots[lot].volume_m3), float(_price(demand, lots[lot].day, waste)))
        for at, demand in enumerate(demands)
        for lot, waste in zip(demand.lots, demand.waste or (0.0,) * len(demand.lots), strict=True)
        if min(demand.volume_m3, lots[lot].volume_m3) > 0
    ]
    parts = _apart(len(demands), pairs)
    found = [_part(lots, demands, pairs, part, nodes, seconds / max(len(parts), 1)) for part in parts]
    return _together(demands, found)


def enough_lots(demand: Demand, volumes_m3: ArrayLike, days: ArrayLike, waste: ArrayLike, wanted_m3: float) -> IntArray:
    """Of very many lots that would do for a demand (volumes 0..10000 m³, days -1e5..1e5 or inf, waste 0..1) the places
    of those that `share_out` without nodes needs of them, so that it costs no more than with all.

    They are its cheapest that together hold `wanted_m3`, which is what it wants itself with all others (0..1e7 m³):
    while it used a dearer one, there would be room left in one of these (no source). Cheapest with the charge of a pair
    and without. ValueError for what is outside these.
    """
    volume = within("free volume", volumes_m3, 0, 10_000, "m³")
    day = np.asarray(days, float)
    within("day when dry", np.where(np.isposinf(day), 0.0, day), -1e5, 1e5, "days")
    within("wanted volume", wanted_m3, 0, 1e7, "m³")
    price = _price(demand, day, within("waste", waste, 0, 1, ""))
    most = np.minimum(volume, demand.volume_m3)
    useful = np.flatnonzero(most > 0)
    found = [useful[:0]]
    for charge in (PAIR, 0.0):
        order = useful[np.argsort(price[useful] + charge / most[useful], kind="stable")]
        found.append(order[: 1 + int(np.searchsorted(np.cumsum(volume[order]), wanted_m3))])
    return np.unique(np.concatenate(found))


def _part(
    lots: Sequence[Lot],
    demands: Sequence[Demand],
    pairs: Sequence[Pair],
    part: Sequence[int],
    nodes: int,
    seconds: float,
) -> tuple[Sequence[int], Sharing]:
    """Some demands alone with the lots that would do for them."""
    number = {demand: at for at, demand in enumerate(part)}
    mine = [pair for pair in pairs if pair[0] in number]
    places = {lot: at for at, lot in enumerate(sorted({pair[1] for pair in mine}))}
    own = [(number[at], places[lot], most, price) for at, lot, most, price in mine]
    relaxed = _Relaxed([lots[one] for one in places], [demands[one] for one in part], own)
    best = min((relaxed.at(PAIR), relaxed.at(0.0)), key=lambda one: one.cost)
    if best.gap > 1e-6 and nodes > 0:
        best = _whole(relaxed, best, nodes, seconds)
    back = list(places)
    shares = tuple((part[at], back[lot], volume) for at, lot, volume in best.shares)
    return part, Sharing(shares, best.short, best.cost, best.bound)


def _apart(count: int, pairs: Sequence[Pair]) -> list[list[int]]:
    """Demands that share no lot, not even by others, each group by itself: different woods are different problems."""
    ends = [list(column) for column in zip(*((at, count + lot) for at, lot, *_ in pairs), strict=True)] or [[], []]
    size = max([count, *(one + 1 for one in ends[1])])
    links = scipy.sparse.coo_array((np.ones(len(ends[0])), ends), shape=(size, size))
    _, labels = scipy.sparse.csgraph.connected_components(links, directed=False)
    groups: dict[int, list[int]] = {}
    for demand in range(count):
        groups.setdefault(int(labels[demand]), []).append(demand)
    return list(groups.values())


def _together(demands: Sequence[Demand], found: Sequence[tuple[Sequence[int], Sharing]]) -> Sharing:
    short = np.zeros(len(demands))
    for part, one in found:
        short[list(part)] = one.short
    shares = tuple(sorted(share for _, one in found for share in one.shares))
    return Sharing(shares, short, sum(one.cost for _, one in found), sum(one.bound for _, one in found))


def _price(demand: Demand, day: ArrayLike, waste: ArrayLike) -> FloatArray:
    """Of a m³ of lots; one that nobody knows the day of counts as the latest."""
    late = np.clip(np.asarray(day, float) - demand.day, 0.0, LATEST)
    return np.asarray(demand.weight * np.minimum(DAY * late, SHORT / 2) + np.asarray(waste, float))


class _Relaxed:
    """Rows: demands, then lots. Columns: what is short, then pairs with their charge spread over their volume."""

    def __init__(self, lots: Sequence[Lot], demands: Sequence[Demand], pairs: Sequence[Pair]) -> None:
        self.lots, self.demands, self.pairs = lots, demands, pairs
        self.bound = 0.0

    def rows(self) -> tuple[list[float], list[float]]:
        lower = [one.volume_m3 for one in self.demands] + [-INFINITY] * len(self.lots)
        return lower, [INFINITY] * len(self.demands) + [one.volume_m3 for one in self.lots]

    def at(self, charge: float) -> Sharing:
        """With this charge a pair spread; the true one gives the bound."""
        program = Program(*self.rows())
        for row, demand in enumerate(self.demands):
            program.add(SHORT * demand.weight, [row], [1.0])
        if self.pairs:
            costs, mosts = zip(*((price + charge / most, most) for _at, _lot, most, price in self.pairs), strict=True)
            rows = np.array([(at, len(self.demands) + lot) for at, lot, *_ in self.pairs], np.int32)
            program.add_many(costs, rows, mosts)
        program.solve()
        if charge == PAIR:
            self.bound = program.objective
        return self.told(program.values[len(self.demands) :])

    def told(self, volumes: Sequence[float]) -> Sharing:
        used = [(pair, float(one)) for pair, one in zip(self.pairs, volumes, strict=True) if one > 1e-7]
        short = np.array([one.volume_m3 for one in self.demands], float)
        for pair, volume in used:
            short[pair[0]] -= volume
        short = np.where(short < 1e-6, 0.0, short)
        weights = np.array([one.weight for one in self.demands], float)
        cost = SHORT * float(short @ weights) + sum(pair[3] * one + PAIR for pair, one in used)
        return Sharing(tuple((pair[0], pair[1], one) for pair, one in used), short, cost, min(self.bound, cost))


def _whole(relaxed: _Relaxed, best: Sharing, nodes: int, seconds: float) -> Sharing:
    """With each pair used or not; the better of what it finds and what there was."""
    pairs, count = relaxed.pairs, len(relaxed.demands) + len(relaxed.lots)
    lower, upper = relaxed.rows()
    fewest = [_fewest(demand, [one[2] for one in pairs if one[0] == at]) for at, demand in enumerate(relaxed.demands)]
    program = Program(
        [*lower, *([-INFINITY] * len(pairs)), *(float(least) for least, _ in fewest)],
        [*upper, *([0.0] * len(pairs)), *([INFINITY] * len(fewest))],
    )
    for row, demand in enumerate(relaxed.demands):
        program.add(SHORT * demand.weight, [row, count + len(pairs) + row], [1.0, fewest[row][1]])
    for number, (at, lot, most, price) in enumerate(pairs):
        program.add(price, [at, len(relaxed.demands) + lot, count + number], [1.0, 1.0, 1.0], upper=most)
    for number, (at, _, most, _) in enumerate(pairs):
        program.add(PAIR, [count + number, count + len(pairs) + at], [-most, 1.0], upper=1.0, whole=True)
    given = {(at, lot): volume for at, lot, volume in best.shares}
    volumes = [given.get((at, lot), 0.0) for at, lot, *_ in pairs]
    program.start_from([*best.short, *volumes, *(float(one > 0) for one in volumes)])
    if not program.solve(nodes=nodes, gap=1e-3, seconds=seconds):
        return best
    bound = max(relaxed.bound, program.bound)
    found = relaxed.told(program.values[len(relaxed.demands) : len(relaxed.demands) + len(pairs)])
    better = min(found, best, key=lambda one: one.cost)
    return Sharing(better.shares, better.short, better.cost, min(bound, better.cost))


def _fewest(demand: Demand, mosts: Sequence[float]) -> tuple[int, float]:
    """How many lots a demand needs at least, and how much of that each m³ short forgives: all of it once so much is
    short that one lot less would do."""
    left, number = demand.volume_m3, 0
    for most in sorted(mosts, reverse=True):
        if left <= most + 1e-9:
            return (number + 1, (number + 1) / left) if left > 1e-3 else (number, number / most)
        left, number = left - most, number + 1
    return 0, 0.0
