"""The days that a calendar of kilns shows, and on which of them nobody loads."""

from dataclasses import dataclass
from datetime import date, timedelta

from kilnruns.models import DayOff, Plan, PlanningRules
from kilnruns.planning.days import loading_on

USUAL_DAYS = 56
FEWEST_DAYS = 28
BEYOND_DAYS = 42
"""How far past a plan's last day its last runs may be followed to their ends."""


@dataclass(frozen=True, slots=True)
class Horizon:
    """From a Monday on; `days` are the plan's. `loads` and `off` are known for each day to BEYOND_DAYS past them."""

    first: date
    days: int
    today: date
    loads: list[bool]
    off: list[bool]


def horizon_of(plan: Plan | None, today: date, *, to_come: bool = False) -> Horizon:
    """A plan's days from this week on, so that today is in sight at once. A plan that is over shows its own days, or,
    where what is `to_come` is wanted, those ahead. Two queries."""
    end = plan.first_day + timedelta(days=plan.horizon_days) if plan else today + timedelta(days=USUAL_DAYS)
    begin = today if to_come or plan is None or plan.first_day <= today < end else plan.first_day
    first = begin - timedelta(days=begin.weekday())
    days = max((end - first).days, FEWEST_DAYS)
    known, off = days + BEYOND_DAYS, list(DayOff.from_day(first))
    loads = loading_on(PlanningRules.current(), [], first, known)
    is_off = [any(one.covers(first + timedelta(days=day)) for one in off) for day in range(known)]
    return Horizon(first, days, today, loads, is_off)
