"""Who gets what of the yard, so that no wood is counted for two needs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from drying.serving import Demand, Lot, Sharing, share_out
from yard.models import Need
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
    return {one.need.pk: _gets(one, [at for at, (need, _) in enumerate(lines) if need is one.need], found.shares,
                               found.short.tolist()) for one in wanted}  # fmt: skip


def short_by_line(wanted: Sequence[Wanted], on: date) -> dict[int, float]:
    """By line, the green volume that is lacking when all share what is free."""
    lines, found = _shared(wanted, on)
    return {line.line.pk: short for (_, line), short in zip(lines, found.short.tolist(), strict=True)}


def _shared(wanted: Sequence[Wanted], on: date) -> tuple[list[tuple[Need, Served]], Sharing]:
    lines = [(one.need, line) for one in wanted for line in one.lines]
    servers = {each.stack.pk: each for _, line in lines for each in line.serving if each.free_m3 > 0}
    places = {stack: at for at, stack in enumerate(servers)}
    lots = [Lot(one.free_m3, _day(one, on)) for one in servers.values()]
    demands = [
        Demand(
            line.lacking_m3,
            (need.wanted_by - on).days,
            WEIGHTS[need.importance],
            tuple(places[one.stack.pk] for one in line.serving if one.stack.pk in places),
            tuple(_waste(one, line) for one in line.serving if one.stack.pk in places),
        )
        for need, line in lines
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
