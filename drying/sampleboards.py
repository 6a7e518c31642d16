"""Which stacks of a charge get sample boards, and how many.

USDA AH-188 ch. 6 (recalled): schedules follow the wettest and the slowest boards, equalising the driest; the larger the
charge, the more boards. The counts by volume are recalled too, rounded to m³, and what lies between is our choice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from drying.ranges import within

Why = Literal["wettest", "slowest", "driest", "share"]
# Green volume up to which so many boards do, m³.
COUNTS = ((50.0, 4), (120.0, 6), (250.0, 8), (1000.0, 12))


@dataclass(frozen=True, slots=True)
class Sampled:
    """A stack of the charge: moisture at the start % (1..400), green thickness mm, volume m³, and its rate in times of
    the model's own unit; a code of the caller's."""

    code: str
    moisture_pct: float
    thickness_mm: float
    volume_m3: float
    rate: float

    def __post_init__(self) -> None:
        within("moisture", self.moisture_pct, 1, 400, "%")
        within("thickness", self.thickness_mm, 5, 200, "mm")
        within("volume", self.volume_m3, 1e-3, 1000, "m³")
        within("rate", self.rate, 1e-3, 50, "times")

    @property
    def slowness(self) -> float:
        """In proportion to the time for a share of the moisture: thickness to 1.5 over the rate (drying method)."""
        return self.thickness_mm**1.5 / self.rate


def boards_wanted(volume_m3: float) -> int:
    """How many pieces become sample boards in a charge of this green volume, 0.001..1000 m3 (AH-188 ch. 6, recalled);
    ValueError outside."""
    volume = float(within("volume of the charge", volume_m3, 1e-3, 1000, "m³"))
    return next(count for most, count in COUNTS if volume <= most)


def choose(stacks: Sequence[Sampled]) -> list[tuple[str, Why]]:
    """A code and its reason for each sample board, as many as `boards_wanted` of the whole volume, m3.

    First the wettest, then the slowest to dry, then the driest (of other stacks while there are any), then by volume:
    always the stack with the most wood for the boards it has. ValueError for no stack.
    """
    if not stacks:
        raise ValueError("no stack in the charge; sample boards come out of one")
    count = boards_wanted(sum(one.volume_m3 for one in stacks))
    left = {one.code: one for one in stacks}
    found: list[tuple[str, Why]] = []
    orders: list[tuple[Why, Sequence[Sampled]]] = [
        ("wettest", sorted(stacks, key=lambda one: (-one.moisture_pct, one.code))),
        ("slowest", sorted(stacks, key=lambda one: (-one.slowness, -one.moisture_pct, one.code))),
        ("driest", sorted(stacks, key=lambda one: (one.moisture_pct, one.slowness, one.code))),
    ]
    for why, order in orders:
        one = next((each for each in order if each.code in left), order[0])
        left.pop(one.code, None)
        found.append((one.code, why))
    while len(found) < count:
        taken = [code for code, _why in found]
        one = max(stacks, key=lambda each: (each.volume_m3 / (1 + taken.count(each.code)), each.code))
        found.append((one.code, "share"))
    return found[:count]
