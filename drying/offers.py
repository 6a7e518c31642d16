"""What the planner is given: lumber, kilns and the rules. Days are whole numbers from the plan's day 0.

Figures that nothing can have raise ValueError naming them. The rules' defaults are choices.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from drying.layout import Space
from drying.ranges import within

Series = npt.NDArray[np.float64]
Piece = tuple[float, float, int]
"""Length in mm, width in mm, count: one tally line."""
FIXING_KINDS = ("into", "hold", "apart", "start")


@dataclass(frozen=True, slots=True, eq=False)
class Lumber:
    """One stack that may go into a kiln.

    `group` is the schedule group together with the target MC: only equal ones share a charge. Arrays have one value
    per day from day 0: forecast MC, run days if a run of this stack alone starts that day (by kiln code; a kiln that
    is missing cannot dry it), water to lose. `value` is EUR for the whole stack dried, `late_per_week` EUR for each
    week after `due_day`. `pack` is the outer size of its pack, needed for kilns loaded by pack. `must_go` overrides
    readiness and the smallest fill; `must_wait` keeps the stack out. `basic_density_kg_m3` (oven-dry mass over green
    volume) gives the layers' masses, if it is known.
    """

    code: str
    group: str
    thickness_mm: float
    target_pct: float
    pieces: tuple[Piece, ...]
    volume_m3: float
    moisture_p50_pct: Series
    ready_day_p10: int | None
    ready_day_p50: int | None
    ready_day_p90: int | None
    value: float
    due_day: int | None = None
    late_per_week: float = 0.0
    run_days: Mapping[str, Series] = field(default_factory=dict)
    water_kg: Series | None = None
    pack: tuple[float, float, float] | None = None
    must_wait: bool = False
    must_go: bool = False
    basic_density_kg_m3: float | None = None

    def __post_init__(self) -> None:
        within(f"stack {self.code}: thickness", self.thickness_mm, 1, 500, "mm")
        within(f"stack {self.code}: target", self.target_pct, 0, 100, "%")
        within(f"stack {self.code}: volume", self.volume_m3, 0, 1e4, "m³")
        within(f"stack {self.code}: basic density", self.basic_density_kg_m3 or 400, 50, 1500, "kg/m³")
        within(f"stack {self.code}: value", [self.value, self.late_per_week], -1e9, 1e9, "EUR")

    def ready_day(self, careful: bool) -> int | None:
        """First day it may start: the median forecast, or the late one of a careful plan."""
        return self.ready_day_p90 if careful else self.ready_day_p50


@dataclass(frozen=True, slots=True)
class KilnOffer:
    """A kiln and when it is free. `loading` is "hand" (boards in layers) or "pack" (undivided packs).

    `blocked` holds [from, to) days; `may_split` lets part of a stack go; `heater_kg_water_per_day` bounds the drying.
    """

    code: str
    loading: str
    space: Space
    cost_per_day: float
    blocked: tuple[tuple[int, int], ...] = ()
    heater_kg_water_per_day: float | None = None
    may_split: bool = True

    def __post_init__(self) -> None:
        if self.loading not in ("hand", "pack"):
            raise ValueError(f'kiln {self.code}: loading is {self.loading!r}; give "hand" or "pack"')
        within(f"kiln {self.code}: cost per day", self.cost_per_day, 0, 1e6, "EUR")
        within(f"kiln {self.code}: water it can take out", self.heater_kg_water_per_day or 0, 0, 1e6, "kg a day")

    @property
    def divides(self) -> bool:
        """Whether a part of a stack can go in."""
        return self.loading == "hand" and self.may_split


@dataclass(frozen=True, slots=True)
class Fixing:
    """What a person has fixed for the stack `code`; a plan keeps it or says what it collides with.

    kinds: "into" (it goes into the charge of `kiln` that starts on `start_day`; either may be None: somewhere,
    sometime), "hold" (out until `until_day`, None: the whole plan), "apart" (`code` and `other` never share a
    charge), "start" (the charge with it starts exactly on `start_day`). Days are counted from the plan's day 0.
    """

    kind: str
    code: str
    kiln: str | None = None
    start_day: int | None = None
    other: str | None = None
    until_day: int | None = None

    def __post_init__(self) -> None:
        if self.kind not in FIXING_KINDS:
            raise ValueError(f"fixing of {self.code}: kind is {self.kind!r}; give one of {', '.join(FIXING_KINDS)}")
        if self.kind == "start" and self.start_day is None:
            raise ValueError(f"fixing of {self.code}: a start needs its start_day")
        if self.kind == "apart" and self.other is None:
            raise ValueError(f"fixing of {self.code}: apart needs the other stack")
        days = [day for day in (self.start_day, self.until_day) if day is not None]
        within(f"fixing of {self.code}: day", days or [0], -36600, 36600, "days")


@dataclass(frozen=True, slots=True)
class Rules:
    """Weights and limits of the plan; defaults measured on a prototype (values in EUR are the yard's own).

    thinnest_to_thickest: least ratio of thicknesses in a charge; moisture_window_pct: widest MC spread at the start,
    where everything above green_pct counts as green; smallest_fill and smallest_part: least share of a kiln and of a
    stack; split_cost: EUR for each further part of a stack; empty_cost: share of a day's rate charged again for
    empty space; discount: share of value lost when dried at the horizon's end; retention: bonus for a stack that
    keeps its kiln and start, as a share of the mean plan value of a stack.
    """

    thinnest_to_thickest: float = 0.75
    moisture_window_pct: float = 5.0
    green_pct: float = 30.0
    smallest_fill: float = 0.6
    smallest_part: float = 0.15
    split_cost: float = 15.0
    empty_cost: float = 0.5
    discount: float = 0.2
    retention: float = 0.05
    demand_margin: float = 1.03


def by_code(lumber: Sequence[Lumber]) -> list[Lumber]:
    """Sorted by tag code (no unit), so that the order of the input changes nothing; ValueError for two of
    one code."""
    ordered = sorted(lumber, key=lambda one: one.code)
    for first, second in pairwise(ordered):
        if first.code == second.code:
            raise ValueError(f"two stacks have the code {first.code}; each stack needs its own")
    return ordered
