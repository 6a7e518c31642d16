"""On which days a kiln may be loaded. A run ends on any day: the wood then waits in the kiln for the next loading day,
since only a load begins on working days alone."""

from collections.abc import Sequence
from datetime import date, timedelta

from kilnruns.models import DayOff, PlanningRules


def work_days(first_day: date, horizon_days: int) -> list[bool]:
    """For each day of a plan, whether somebody loads: the mill's weekdays, less its days off. Two queries."""
    return loading_on(PlanningRules.current(), list(DayOff.from_day(first_day)), first_day, horizon_days)


def loading_on(rules: PlanningRules, off: Sequence[DayOff], first_day: date, horizon_days: int) -> list[bool]:
    days = [first_day + timedelta(days=number) for number in range(horizon_days)]
    return [day.weekday() in rules.loading_days and not any(one.covers(day) for one in off) for day in days]
