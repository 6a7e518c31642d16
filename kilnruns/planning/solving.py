"""The one call of the core's planner: a case, what is fixed, and the mill's days."""

from collections.abc import Sequence
from datetime import date

from drying import plan as core
from kilnruns.models import Fixing
from kilnruns.planning.case import Case
from kilnruns.planning.days import work_days
from kilnruns.planning.fixed import wishes


def fixings_in_force(first_day: date) -> list[Fixing]:
    return list(Fixing.objects.in_force(first_day).for_lists())


def solved(
    given: Case,
    fixings: Sequence[Fixing],
    *,
    first_day: date,
    horizon_days: int,
    careful: bool,
    seconds: float,
    rules: core.Rules,
    in_force: core.Plan | None = None,
    progress: core.Progress | None = None,
) -> core.Plan:
    """The best plan found for a case with these fixings; `in_force` is where the search sets out from."""
    return core.plan(
        list(given.lumber.values()),
        list(given.offers),
        horizon_days=horizon_days,
        careful=careful,
        seconds=seconds,
        work_days=work_days(first_day, horizon_days),
        rules=rules,
        fixings=wishes(fixings, first_day, given.lumber),
        in_force=in_force,
        progress=progress,
    )
