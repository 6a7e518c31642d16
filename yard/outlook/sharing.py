"""Who gets what of the yard, so that no wood is counted for two needs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from drying.serving import Demand, Lot, Sharing, enough_lots, share_out
from yard.models import Need
from yard.outlook.curves import NO_DAY
from yard.outlook.holding import held_by_all
from yard.outlook.promises import Wanted
from yard.outlook.servers import Servers
from yard.outlook.serving import Served

WEIGHTS = {1: 0.5, 2: 1.0, 3: 3.0}  # by how much a need matters, as the planner counts it
NEVER = float("inf")


@dataclass(frozen=True, slots=True)
class Gets:
    """What a need has of green volume: kept for it, and from `stacks` more when all open needs share what is free;
    `short_m3` is lacking then."""

    kept_m3: float
    shared_m3: float
    stacks: int
    short_m3: float

    @property
    def is_enough(self) -> bool:
        return self.short_m3 < 0.005


def share(wanted: Sequence[Wanted], on: date) -> dict[int, Gets]:
    """By need. Each line takes what it lacks of what is free, as a transport program shares it out: early, and out of
    few stacks."""
    lines, found = _shared(wanted, on)
    return {one.need.pk: _gets(one, [at for at, line in enumerate(lines) if line.need is one.need], found.shares,
                               found.short.tolist()) for one in wanted}  # fmt: skip


def short_by_line(wanted: Sequence[Wanted], on: date) -> dict[int, float]:
    """By line, how much of it, in its unit, is lacking when all share what is free."""
    lines, found = _shared(wanted, on)
    short = found.short.tolist()
    return {line.served.line.pk: line.per_m3 * volume for line, volume in zip(lines, short, strict=True)}


@dataclass(frozen=True, slots=True)
class _Asking:
    """A line that asks for `volume_m3` of stacks, of which a m³ holds `per_m3` of it in its unit: `at` their places in
    the yard, with what of each is free, its day and its waste."""

    need: Need
    served: Served
    volume_m3: float
    per_m3: float
    at: Any
    free_m3: Any
    days: Any
    waste: Any


def _asking(need: Need, served: Served, on: date) -> _Asking:
    """By what their boards hold of it, where it has a size; what holds none of it serves nothing. What is kept counts
    the same."""
    line, servers = served.line, served.servers
    holds = held_by_all(servers.yard, line, served.figures)[servers.at]
    is_free = (servers.free_m3 > 0) & (holds > 0)
    free, per = servers.free_m3[is_free], holds[is_free]
    kept = float((servers.sawn_for + (servers.kept_m3 - servers.sawn_m3) * holds)[servers.kept_m3 > 0].sum())
    guess = line.quantity / served.green_m3
    kept += sum(one.sawn_for or one.volume_m3 * guess for one in served.went)
    per_m3 = float((free * per).sum() / free.sum()) if len(free) else guess
    lacking = max(line.quantity - kept, 0.0) / per_m3
    days, waste = _days(servers, on)[is_free], _waste(servers, line.thickness_mm)[is_free]
    return _Asking(need, served, lacking, per_m3, servers.at[is_free], free, days, waste)


def _shared(wanted: Sequence[Wanted], on: date) -> tuple[list[_Asking], Sharing]:
    """Each line offers its nearest alone, as many as can be of use: a large yard's stacks are many."""
    lines = [_asking(one.need, line, on) for one in wanted for line in one.lines]
    free, day = (np.zeros(len(lines[0].served.servers.yard) if lines else 0) for _ in range(2))
    for line in lines:
        free[line.at], day[line.at] = line.free_m3, line.days
    found = [_demand(line, on) for line in lines]
    rivals = _with_rivals(lines)
    offers = [
        enough_lots(demand, free[line.at], day[line.at], line.waste, most)
        for line, demand, most in zip(lines, found, rivals, strict=True)
    ]
    stacks: Any = (
        np.unique(np.concatenate([line.at[own] for line, own in zip(lines, offers, strict=True)])) if lines else []
    )
    lots = [Lot(float(free[stack]), float(day[stack])) for stack in stacks]
    demands = [
        replace(
            demand,
            lots=tuple(np.searchsorted(stacks, line.at[own]).tolist()),
            waste=tuple(line.waste[own].tolist()),
        )
        for line, demand, own in zip(lines, found, offers, strict=True)
    ]
    return lines, share_out(lots, demands, nodes=0)


def _demand(line: _Asking, on: date) -> Demand:
    return Demand(line.volume_m3, (line.need.wanted_by - on).days, WEIGHTS[line.need.importance])


def _with_rivals(lines: Sequence[_Asking]) -> list[float]:
    """By line, what is wanted by all that could take of the same stacks, even by others: of the same woods."""
    groups: list[tuple[set[int], float]] = []
    woods = [{one.pk for one in line.served.line.species.all()} for line in lines]
    for own, line in zip(woods, lines, strict=True):
        near = [one for one in groups if one[0] & own]
        groups = [one for one in groups if not one[0] & own]
        groups.append((own.union(*(one[0] for one in near)), line.volume_m3 + sum(one[1] for one in near)))
    return [next((volume for group, volume in groups if group & own), 0.0) for own in woods]


def _gets(
    wanted: Wanted, mine: Sequence[int], shares: Sequence[tuple[int, int, float]], short: Sequence[float]
) -> Gets:
    own = [(lot, volume) for at, lot, volume in shares if at in mine]
    kept = sum(one.kept_m3 for line in wanted.lines for one in line.kept)
    return Gets(kept, sum(volume for _, volume in own), len({lot for lot, _ in own}), sum(short[at] for at in mine))


def _days(servers: Servers, on: date) -> Any:
    """In the middle; a stack that waits for the kiln counts from when it is ready for that."""
    ready = servers.yard.ready[servers.at]
    day = np.where(servers.middle == NO_DAY, ready, servers.middle)
    found = np.where(day == NO_DAY, NEVER, day - float(on.toordinal()))
    found[: servers.dry] = 0.0
    return found


def _waste(servers: Servers, thickness_mm: float) -> Any:
    """The share of the thickness that is planed away beyond what it takes."""
    thick = np.where(np.isnan(servers.dry_mm), servers.yard.thickness_mm[servers.at], servers.dry_mm)
    return np.clip(1 - thickness_mm / thick, 0.0, 1.0)
