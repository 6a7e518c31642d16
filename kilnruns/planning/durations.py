"""How long each stack would need in each kiln, by the moisture it starts from."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from drying.heat import Chamber, RunRequest, RunTable, run_tables
from drying.ownschedule import written_code
from drying.schedules import Schedule, code_for_thickness, for_wood
from kilnruns.models import Kiln
from kilnruns.planning import learned
from kilnruns.planning.chambers import chamber
from kilnruns.planning.groups import AS_IN_THE_BOOK, Groups
from kilnruns.planning.own_steps import own_schedule, serves
from yard import outlook
from yard.models import Place, Stack

MOST_KEPT = 5000
# Spread of a run's length around the table's: rates of wood and kiln together, ln sd (drying method §12: 0.35) at
# one in ten and nine in ten.
SPREAD = float(np.exp(0.35 * 1.2816))
UNKNOWN_AIR = (8.0, 75.0)  # °C and % where no place has a climate: a mild year's mean, invented


# Run tables depend on their request alone; kept so that only new woods, kilns or seasons cost time. A pure cache:
# another process computes the same.
_KEPT: dict[RunRequest, RunTable] = {}


@dataclass(frozen=True, slots=True)
class Season:
    """The air outside the kilns: °C and % relative humidity."""

    temperature_c: float
    humidity_pct: float


def season(places: Sequence[Place], on: date) -> Season:
    """Mean of the yard's places in a month; they stand in one climate, so one season serves all kilns."""
    known = [place for place in places if len(place.temperatures_c) == 12 and len(place.humidities_pct) == 12]
    if not known:
        return Season(*UNKNOWN_AIR)
    month = on.month - 1
    temperature = sum(place.temperatures_c[month] for place in known) / len(known)
    return Season(temperature, sum(place.humidities_pct[month] for place in known) / len(known))


def schedule_of(stack: Stack, kiln: Kiln, groups: Groups) -> Schedule:
    """The kiln's own schedule for this wood, or the published one, or its group's, as this kiln can run it."""
    wood, own = stack.species, groups.own_schedule(kiln, stack)
    if own is not None and serves(own.steps, kiln, stack.target_pct):
        return own_schedule(own.steps, kiln)
    oak = wood.latin_name.startswith("Quercus")
    codes = (_code(wood.schedule_25mm), _code(wood.schedule_50mm))
    return for_wood(
        groups.schedule_group(wood),
        code_for_thickness(*codes, stack.thickness_mm, oak=oak),
        stack.thickness_mm,
        kiln.max_temperature_c,
        target_pct=stack.target_pct,
        humidifies=kiln.humidifies,
    )


def _code(text: str) -> str | None:
    """A species' code; None for a name that the tables don't have, which was once taken unchecked: the group's stands
    in, and a whole plan is not lost over it."""
    try:
        return written_code(text) if text else None
    except ValueError:
        return None


def tables(
    stacks: Sequence[Stack], kilns: Sequence[Kiln], air: Season, groups: Groups = AS_IN_THE_BOOK
) -> dict[tuple[str, str], RunTable]:
    """A run table for each (stack code, kiln pk as text), computed in one batch; equal woods share one."""
    found = tables_by_season([(stack, air) for stack in stacks], kilns, groups)
    return {(stack.code, str(kiln.pk)): tables[at] for stack, tables in zip(stacks, found, strict=True)
            for at, kiln in enumerate(kilns)}  # fmt: skip


def tables_by_season(
    asked: Sequence[tuple[Stack, Season]], kilns: Sequence[Kiln], groups: Groups = AS_IN_THE_BOOK
) -> list[list[RunTable]]:
    """For each stack in its season, a run table for each kiln, computed in one batch; equal woods share one."""
    factors = learned.factors()
    chambers = {kiln.pk: chamber(kiln, factors.get(kiln.pk, 1.0)) for kiln in kilns}
    found = _kept_tables([_request(stack, kiln, chambers[kiln.pk], air, groups) for stack, air in asked
                          for kiln in kilns])  # fmt: skip
    return [found[at * len(kilns) : (at + 1) * len(kilns)] for at in range(len(asked))]


def _request(stack: Stack, kiln: Kiln, inside: Chamber, air: Season, groups: Groups) -> RunRequest:
    return RunRequest(
        chamber=inside,
        wood=outlook.wood(stack.species),
        thickness_mm=stack.thickness_mm,
        target_pct=stack.target_pct,
        schedule=schedule_of(stack, kiln, groups),
        outdoor_temperature_c=air.temperature_c,
        outdoor_humidity_pct=air.humidity_pct,
    )


def _kept_tables(requests: Sequence[RunRequest]) -> list[RunTable]:
    if len(_KEPT) > MOST_KEPT:
        _KEPT.clear()
    new = [request for request in dict.fromkeys(requests) if request not in _KEPT]
    found = dict(zip(new, run_tables(new), strict=True))
    _KEPT.update(found)
    return [found.get(request) or _KEPT[request] for request in requests]
