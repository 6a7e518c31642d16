"""The planning task in numbers: stacks, kilns and days as arrays, and what a charge brings and costs.

Objective (EUR): a stack dried in [start, end) brings phi * (value * (1 - discount * mid / horizon) + penalty saved),
phi the share of the run within the horizon, mid the middle of that part; a kiln costs its day rate, and empty
space half of it again.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from drying.offers import KilnOffer, Lumber, Rules, by_code
from drying.planner.demand import Demand, demand
from drying.planner.items import Items
from drying.proposal import Plan

NEVER = 10**6
MANY = 300
"""Stacks from which on the yard counts as large."""


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """Rows are kilns (K), columns stacks (S), then days (T). `starts` says where a run may begin, `free_until` to
    which day the kiln is then free. `order` is what a stack that must go weighs on top; `kept` the retention bonus.
    `twin` is the first kiln that differs in nothing but its code. `worths` remembers what batches are worth: they are
    counted again and again."""

    lumber: Sequence[Lumber]
    kilns: Sequence[KilnOffer]
    rules: Rules
    horizon: int
    need: Demand
    items: Items
    ready: np.ndarray
    moisture: np.ndarray
    days: np.ndarray
    water: np.ndarray
    groups: np.ndarray
    thickness: np.ndarray
    value: np.ndarray
    due: np.ndarray
    late_per_day: np.ndarray
    starts: np.ndarray
    free_until: np.ndarray
    order: np.ndarray
    kept: np.ndarray
    twin: Sequence[int] = ()
    worths: dict[object, float] = field(default_factory=dict)

    @property
    def large(self) -> bool:
        return len(self.lumber) > MANY

    def within(self, start: np.ndarray, days: np.ndarray) -> np.ndarray:
        """Share of a run that lies within the horizon."""
        return np.minimum(1.0, (self.horizon - start) / days)

    def gain(self, kiln: int, stacks: np.ndarray, start: np.ndarray, days: np.ndarray) -> np.ndarray:
        """EUR that whole stacks bring in a run; the arrays broadcast against each other."""
        end = start + days
        middle = (start + np.minimum(end, self.horizon)) / 2
        dried = self.value[stacks] * (1 - self.rules.discount * middle / self.horizon)
        saved = np.maximum(0.0, self.never_dried(stacks) - self.late(stacks, end))
        return self.within(start, days) * (dried + saved) + self.order[stacks] + self.kept[kiln, stacks, start]

    def never_dried(self, stacks: np.ndarray) -> np.ndarray:
        """Penalty of a stack that stays out: as if it came two weeks after the horizon."""
        return self.late_per_day[stacks] * np.maximum(0, self.horizon + 14 - self.due[stacks])

    def late(self, stacks: np.ndarray, end: np.ndarray) -> np.ndarray:
        return self.late_per_day[stacks] * np.maximum(0, end - self.due[stacks])

    def full_cost(self, kiln: int, start: np.ndarray, days: np.ndarray) -> np.ndarray:
        """EUR for a run of a full kiln."""
        return self.within(start, days) * days * self.kilns[kiln].cost_per_day

    def cost(self, kiln: int, start: int, days: int, taken: float) -> float:
        full = float(self.full_cost(kiln, np.array(start), np.array(days)))
        return full * (1 + self.rules.empty_cost * max(0.0, 1 - taken))

    def run_days(self, kiln: int, start: int, shares: Mapping[int, float]) -> int:
        """Days of a run: the slowest stack in it, or what the heater can take out in that time."""
        longest = max(float(self.days[kiln, stack, start]) for stack in shares)
        rate = self.kilns[kiln].heater_kg_water_per_day
        if rate:
            longest = max(longest, sum(share * self.water[stack, start] for stack, share in shares.items()) / rate)
        return int(np.ceil(longest - 1e-9))


def make_task(
    lumber: Sequence[Lumber],
    kilns: Sequence[KilnOffer],
    rules: Rules,
    horizon: int,
    careful: bool,
    work_days: Sequence[bool] | None,
    in_force: Plan | None,
) -> Task:
    """Sorts, checks and turns the input into arrays."""
    stacks, offers = by_code(lumber), sorted(kilns, key=lambda one: one.code)
    _check(stacks, horizon)
    groups = sorted({one.group for one in stacks})
    starts, free_until = _calendar(offers, horizon, work_days)
    days, kept = _run_days(stacks, offers, horizon), _kept(stacks, offers, horizon, in_force, rules)
    return Task(
        lumber=stacks,
        kilns=offers,
        rules=rules,
        horizon=horizon,
        need=demand(stacks, offers, rules),
        items=Items.among(stacks),
        ready=np.array([_ready(one, careful) for one in stacks], dtype=int),
        moisture=_table([np.minimum(one.moisture_p50_pct[:horizon], rules.green_pct) for one in stacks], horizon),
        days=days,
        water=_table(
            [np.zeros(horizon) if one.water_kg is None else one.water_kg[:horizon] for one in stacks], horizon
        ),
        groups=np.array([groups.index(one.group) for one in stacks], dtype=int),
        thickness=np.array([one.thickness_mm for one in stacks], dtype=float),
        value=np.array([one.value for one in stacks], dtype=float),
        due=np.array([NEVER if one.due_day is None else one.due_day for one in stacks], dtype=int),
        late_per_day=np.array([one.late_per_week / 7 for one in stacks], dtype=float),
        starts=starts,
        free_until=free_until,
        order=_orders(stacks, offers, horizon),
        kept=kept,
        twin=_twins(offers, (starts, free_until, days, kept)),
    )


def twins(task: Task) -> list[int]:
    """By kiln, the first one that is like it but for its code and for what staying in place is worth there."""
    return _twins(task.kilns, (task.starts, task.free_until, task.days))


def _twins(kilns: Sequence[KilnOffer], tables: Sequence[np.ndarray]) -> list[int]:
    """By kiln, the first one that is like it in everything the plan counts."""
    found: list[int] = []
    for row, kiln in enumerate(kilns):
        plain = replace(kiln, code="", blocked=())
        like = (
            other
            for other in dict.fromkeys(found)
            if replace(kilns[other], code="", blocked=()) == plain
            and all(np.array_equal(table[row], table[other]) for table in tables)
        )
        found.append(next(like, row))
    return found


def _check(stacks: Sequence[Lumber], horizon: int) -> None:
    if horizon < 1:
        raise ValueError(f"horizon_days is {horizon}; plan at least one day ahead")
    for one in stacks:
        if len(one.moisture_p50_pct) < horizon:
            have = len(one.moisture_p50_pct)
            raise ValueError(f"stack {one.code}: moisture_p50_pct covers {have} days; the plan needs {horizon}")
        for kiln, series in one.run_days.items():
            if len(series) < horizon:
                raise ValueError(f"stack {one.code}: run_days in {kiln} covers {len(series)} of {horizon} days")


def _table(rows: Sequence[np.ndarray], width: int) -> np.ndarray:
    return np.array(rows, dtype=float).reshape(len(rows), width)


def _ready(one: Lumber, careful: bool) -> int:
    if one.must_wait:
        return NEVER
    day = 0 if one.must_go else one.ready_day(careful)
    return NEVER if day is None else max(0, day)


def _run_days(stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], horizon: int) -> np.ndarray:
    days = np.full((len(kilns), len(stacks), horizon), np.inf)
    for row, kiln in enumerate(kilns):
        for column, one in enumerate(stacks):
            if kiln.code in one.run_days:
                series = np.ceil(np.asarray(one.run_days[kiln.code][:horizon], float) - 1e-9)
                days[row, column] = np.where(np.isfinite(series), np.maximum(1, series), np.inf)
    return days


def _calendar(
    kilns: Sequence[KilnOffer], horizon: int, work_days: Sequence[bool] | None
) -> tuple[np.ndarray, np.ndarray]:
    starts = np.ones((len(kilns), horizon), dtype=bool)
    if work_days is not None:
        given = np.asarray(work_days, dtype=bool)[:horizon]
        starts[:, : len(given)] &= given
    until = np.full((len(kilns), horizon), NEVER, dtype=int)
    for row, kiln in enumerate(kilns):
        for begin, end in sorted(kiln.blocked):
            starts[row, max(0, begin) : max(0, end)] = False
            before = np.arange(horizon) < begin
            until[row, before] = np.minimum(until[row, before], begin)
    return starts, until


def order_weight(stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], horizon: int) -> float:
    """EUR: more than anything the plan could gain by leaving out a stack that has to go."""
    weight = 10 * max([one.value + 8 * one.late_per_week for one in stacks], default=0.0)
    return weight + horizon * max([kiln.cost_per_day for kiln in kilns], default=0.0)


def _orders(stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], horizon: int) -> np.ndarray:
    weight = order_weight(stacks, kilns, horizon)
    return np.array([weight if one.must_go else 0.0 for one in stacks], dtype=float)


def _kept(
    stacks: Sequence[Lumber], kilns: Sequence[KilnOffer], horizon: int, in_force: Plan | None, rules: Rules
) -> np.ndarray:
    kept = np.zeros((len(kilns), len(stacks), horizon))
    if in_force is None or not in_force.charges:
        return kept
    number = sum(len(charge.shares) for charge in in_force.charges)
    bonus = rules.retention * max(0.0, in_force.value) / number
    stack_row = {one.code: index for index, one in enumerate(stacks)}
    kiln_row = {one.code: index for index, one in enumerate(kilns)}
    for charge in in_force.charges:
        for share in charge.shares:
            if share.code in stack_row and charge.kiln in kiln_row and 0 <= charge.start_day < horizon:
                kept[kiln_row[charge.kiln], stack_row[share.code], charge.start_day] = bonus
    return kept
