"""Who gets what of the yard, so that no wood is counted for two needs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drying.serving import Demand, Lot, Sharing, share_out
from yard.models import Need
from yard.outlook.holding import held, shrinkage_pct
from yard.outlook.promises import Wanted
from yard.outlook.serving import Served, Server

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
    """A line that asks for `volume_m3` of `servers`, of which a m³ holds `per_m3` of it in its unit."""

    need: Need
    served: Served
    volume_m3: float
    per_m3: float
    servers: list[Server]


def _asking(need: Need, served: Served) -> _Asking:
    """By what their boards hold of it, where it has a size; what holds none of it serves nothing. What is kept counts
    the same."""
    line = served.line
    holds = {one.stack.pk: _holds(one, served) for one in served.serving if one.free_m3 > 0 or one.kept_m3}
    free = [one for one in served.serving if one.free_m3 > 0 and holds[one.stack.pk] > 0]
    kept = sum(one.sawn_for + (one.kept_m3 - one.sawn_m3) * holds[one.stack.pk] for one in served.kept)
    free_m3 = sum(one.free_m3 for one in free)
    guess = line.quantity / served.green_m3
    kept += sum(one.sawn_for or one.volume_m3 * guess for one in served.went)
    per_m3 = sum(one.free_m3 * holds[one.stack.pk] for one in free) / free_m3 if free else guess
    return _Asking(need, served, max(line.quantity - kept, 0.0) / per_m3, per_m3, free)


def _holds(server: Server, served: Served) -> float:
    """Of a line, in its unit, in a m³ of its stack."""
    stack, figures = server.stack, served.figures
    across = shrinkage_pct(stack.species, figures.sawn, across=True)
    return held(stack, served.line, figures, across) / stack.volume_m3 if stack.volume_m3 else 0.0


def _shared(wanted: Sequence[Wanted], on: date) -> tuple[list[_Asking], Sharing]:
    lines = [_asking(one.need, line) for one in wanted for line in one.lines]
    servers = {each.stack.pk: each for line in lines for each in line.servers}
    places = {stack: at for at, stack in enumerate(servers)}
    lots = [Lot(one.free_m3, _day(one, on)) for one in servers.values()]
    demands = [
        Demand(
            line.volume_m3,
            (line.need.wanted_by - on).days,
            WEIGHTS[line.need.importance],
            tuple(places[one.stack.pk] for one in line.servers),
            tuple(_waste(one, line.served) for one in line.servers),
        )
        for line in lines
    ]
    return lines, share_out(lots, demands, nodes=0)


def _gets(
    wanted: Wanted, mine: Sequence[int], shares: Sequence[tuple[int, int, float]], short: Sequence[float]
) -> Gets:
    own = [(lot, volume) for at, lot, volume in shares if at in mine]
    kept = sum(one.kept_m3 for line in wanted.lines for one in line.kept)
    return Gets(kept, sum(volume for _, volume in own), len({lot for lot, _ in own}), sum(short[at] for at in mine))


def _day(server: Server, on: date) -> float:
    """In the middle; a stack that waits for the kiln counts from when it is ready for that."""
    if server.is_dry:
        return 0.0
    outlook = server.standing.outlook
    day = server.days[0] if server.days else outlook.ready_p50 if outlook else None
    return (day - on).days if day else NEVER


def _waste(server: Server, line: Served) -> float:
    """The share of the thickness that is planed away beyond what it takes."""
    thick = server.dry_mm or server.stack.thickness_mm
    return min(max(1 - line.line.thickness_mm / thick, 0.0), 1.0)
