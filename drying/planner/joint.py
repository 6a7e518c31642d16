"""What stacks need of a kiln together: less than the sum, where the lengths of one fill the lanes that others leave.

Boards of one group and thickness are a class. A load's need is the largest sum over the sets of weights that its class
has met so far (`drying.packing.weights`): a proven lower bound at any time, times the margin for what packing loses,
and the linear program's own answer for every load that was `proven`. So a load is filled by the sums, proven, and
filled again where the proof asks for more.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from drying.layout import Space
from drying.offers import Lumber
from drying.packing.weights import Lane

MOST_SETS = 60
FIRST_SETS = 16
LITTLE = 1e-6
Shares = Mapping[int, float]


class Class:
    """Stacks of one group and thickness: `widths` in layers (stack x length), `needs` in layers (stack x set)."""

    def __init__(self, stacks: Sequence[int], lumber: Sequence[Lumber], space: Space, margin: float) -> None:
        self.height_mm = lumber[stacks[0]].thickness_mm + space.sticker_mm
        self.row = {stack: index for index, stack in enumerate(stacks)}
        boards: dict[int, int] = defaultdict(int)
        pieces = [(row, piece) for stack, row in self.row.items() for piece in lumber[stack].pieces if piece[2] > 0]
        for _, (length, _, count) in pieces:
            boards[int(length)] += count
        self.lane = Lane(boards, space.length_mm)
        column = {length: index for index, length in enumerate(self.lane.lengths)}
        self.widths = np.zeros((len(stacks), len(column)))
        for row, (length, width, count) in pieces:
            self.widths[row, column[int(length)]] += width * count * margin / space.width_mm
        self.needs = np.zeros((len(stacks), 0))
        self._keep(self.lane.by_area())
        for total in (self.widths.sum(axis=0), *self._kinds()):
            self.proven(total)

    def _kinds(self) -> list[np.ndarray]:
        """The stacks' own widths, one stack for each set of lengths that occurs, the commonest sets first."""
        kinds: dict[tuple[bool, ...], list[int]] = defaultdict(list)
        for row, widths in enumerate(self.widths):
            kinds[tuple(widths > 0)].append(row)
        common = sorted(kinds.values(), key=lambda rows: (-len(rows), rows))
        return [self.widths[rows].sum(axis=0) for rows in common[:FIRST_SETS]]

    def _keep(self, weights: np.ndarray) -> None:
        needs = self.widths @ weights
        if not any(np.abs(known - needs).max() < 1e-7 for known in self.needs.T):
            self.needs = np.column_stack([self.needs, needs])

    def total(self, shares: Iterable[tuple[int, float]]) -> np.ndarray:
        """Widths by length of a load, in layers."""
        widths = np.zeros(self.widths.shape[1])
        for stack, share in shares:
            widths += share * self.widths[self.row[stack]]
        return widths

    def proven(self, total: np.ndarray) -> float:
        """Layers that these widths need by the linear program; the weights that prove it are kept for others."""
        layers, weights = self.lane.by_load(total.tolist())
        if self.needs.shape[1] < MOST_SETS:
            self._keep(weights)
        return layers


class Joint:
    """The classes of one kiln loaded by hand. Shares of stacks are of one group, by stack number."""

    def __init__(self, lumber: Sequence[Lumber], able: Sequence[int], space: Space, margin: float) -> None:
        kin: dict[tuple[str, float], list[int]] = defaultdict(list)
        for stack in able:
            kin[lumber[stack].group, lumber[stack].thickness_mm].append(stack)
        self.height_mm = space.height_mm
        self.class_of: dict[int, Class] = {}
        for stacks in kin.values():
            self.class_of |= dict.fromkeys(stacks, Class(stacks, lumber, space, margin))

    def load(self, shares: Shares | None = None) -> "Load":
        """A load to be filled, with these shares in it."""
        load = Load(self)
        for stack, share in (shares or {}).items():
            load.add(stack, share)
        return load

    def height(self, shares: Shares) -> float:
        """Height (mm) of the whole layers that the load needs, as far as the sets of weights tell: never too much."""
        return self.load(shares).height()

    def proven_height(self, shares: Shares) -> float:
        """Height (mm) of the whole layers that the load needs by its own linear program: asks for milliseconds."""
        height = 0.0
        for one, some in self._by_class(shares):
            height += float(np.ceil(one.proven(one.total(some)) - LITTLE)) * one.height_mm
        return height

    def fits(self, shares: Shares) -> bool:
        """Whether whole layers of the load go into the height, proven by its own linear program."""
        room = self.height_mm + 1e-6
        return self.height(shares) <= room and self.proven_height(shares) <= room

    def used(self, shares: Shares) -> float:
        """Share of the kiln's height that the load needs, layers not rounded, by its own linear program."""
        layers = [one.proven(one.total(some)) * one.height_mm for one, some in self._by_class(shares)]
        return sum(layers) / self.height_mm

    def _by_class(self, shares: Shares) -> list[tuple[Class, list[tuple[int, float]]]]:
        found: dict[int, tuple[Class, list[tuple[int, float]]]] = {}
        for stack, share in shares.items():
            one = self.class_of[stack]
            found.setdefault(id(one), (one, []))[1].append((stack, share))
        return list(found.values())


class Load:
    """A load while it is being filled: the sums over every set of weights, class by class."""

    def __init__(self, joint: Joint) -> None:
        self.joint = joint
        self.sums: dict[int, tuple[Class, np.ndarray]] = {}

    def add(self, stack: int, share: float) -> None:
        one, sums = self._of(stack)
        self.sums[id(one)] = one, sums + share * one.needs[one.row[stack], : len(sums)]

    def room(self, stack: int) -> float:
        """How often the stack goes into the whole layers that are left; 0 for one that the kiln can't take."""
        if stack not in self.joint.class_of:
            return 0.0
        one, sums = self._of(stack)
        free = self.joint.height_mm - sum(_height(other, s) for other, s in self.sums.values() if other is not one)
        layers = int((free + 1e-6) // one.height_mm)
        needs = one.needs[one.row[stack], : len(sums)]
        return max(0.0, float(((layers - sums) / np.maximum(needs, 1e-12)).min()))

    def height(self) -> float:
        """Height (mm) of the whole layers of all classes."""
        return sum(_height(one, sums) for one, sums in self.sums.values())

    def _of(self, stack: int) -> tuple[Class, np.ndarray]:
        one = self.joint.class_of[stack]
        return self.sums.get(id(one)) or (one, np.zeros(one.needs.shape[1]))


def _height(one: Class, sums: np.ndarray) -> float:
    return float(np.ceil(sums.max(initial=0.0) - LITTLE)) * one.height_mm
