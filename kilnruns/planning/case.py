"""What stands ready and which kilns are free: all that one planning works on, read once from the rows."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import Prefetch
from django.utils import timezone

from drying.heat import RunTable
from drying.offers import KilnOffer, Lumber
from kilnruns.models import Charge, Kiln
from kilnruns.planning import first_charge
from kilnruns.planning.basis import basis, free_stacks
from kilnruns.planning.due import Due, due_days
from kilnruns.planning.durations import season, tables
from kilnruns.planning.groups import Groups
from kilnruns.planning.lumber import lumber
from kilnruns.planning.offered import offers
from yard import outlook
from yard.models import MillFigures, Need, Place, Stack

DRY_ENOUGH_PCT = 0.5  # so close to its target a stack has nothing to do in a kiln


@dataclass(frozen=True, slots=True)
class Case:
    """All that one planning works on."""

    stacks: Mapping[str, Stack]
    kilns: Mapping[str, Kiln]
    lumber: Mapping[str, Lumber]
    tables: Mapping[tuple[str, str], RunTable]
    moisture: Mapping[str, outlook.Daily]
    due: Mapping[str, Due]
    offers: Sequence[KilnOffer]
    unknown: Sequence[dict[str, Any]] = ()
    kept_from: Mapping[str, Sequence[str]] = field(default_factory=dict)
    read_at: datetime = field(default_factory=timezone.now)
    basis: Mapping[str, Any] = field(default_factory=dict)


def candidates() -> list[Stack]:
    """Drying stacks with a forecast that are in no charge ahead."""
    return list(free_stacks().for_lists().order_by("code"))


def free_kilns() -> list[Kiln]:
    ahead = Prefetch("charges", Charge.objects.ahead(), to_attr="charges_ahead")
    return list(Kiln.objects.filter(retired=False).select_related("place").prefetch_related("closures", ahead))


def case(first_day: date, horizon_days: int, careful: bool = False, only: Collection[str] | None = None) -> Case:
    """Of all that can be planned, or of the stacks of these codes alone."""
    outlook.refresh_missing()
    read_at, known, every, kilns = timezone.now(), basis(careful), candidates(), free_kilns()
    groups = Groups.read()
    unknown, easy = first_charge.unknown_kilns(kilns, first_day), first_charge.low_risk(every, groups)
    stacks = [one for one in every if only is None or one.code in only]
    moisture = outlook.daily_moisture(stacks, first_day, horizon_days)
    stacks = [stack for stack in stacks if moisture[stack.code].p50_pct[0] > stack.target_pct + DRY_ENOUGH_PCT]
    air = season(list(Place.objects.outdoors()), first_day + timedelta(days=horizon_days // 2))
    runs = tables(stacks, kilns, air, groups)
    needs = list(Need.objects.open().with_lines())
    due = due_days(stacks, needs, first_day, MillFigures.current().cut_yield)
    whole = [
        lumber(stack, kilns, moisture[stack.code], runs, first_day, due.get(stack.code), groups, careful)
        for stack in stacks
    ]
    wood = [first_charge.masked(one, unknown, easy) for one in whole]
    return Case(
        stacks={stack.code: stack for stack in stacks},
        kilns={str(kiln.pk): kiln for kiln in kilns},
        lumber={one.code: one for one in wood},
        tables=runs,
        moisture=moisture,
        due=due,
        offers=offers(kilns, stacks, groups, air, first_day, horizon_days),
        unknown=first_charge.told(unknown, easy),
        kept_from=first_charge.kept_from({one.code: one for one in whole}, {one.code: one for one in wood}),
        read_at=read_at,
        basis=known,
    )
