"""When stacks come out of the kiln, by the charges ahead: for the yard's needs, which know no charges."""

from collections.abc import Iterable
from datetime import date, timedelta

from kilnruns.models import ChargeStack


def days_out(stacks: Iterable[int]) -> dict[int, tuple[date, date, float]]:
    """By stack: the day in the middle, the latest that the run's band tells, and the target in %. One query."""
    wanted = set(stacks)  # the charges ahead are few: a large yard's keys are more than a statement takes
    ahead = ChargeStack.objects.filter(charge__called_off_at=None, charge__unloaded_at=None, unloaded_at=None)
    rows = ahead.select_related("charge").order_by("charge__start_on", "pk")
    return {
        row.stack_id: (_day(row.charge.start_on, row.charge.days), _day(row.charge.start_on, row.charge.days_high),
                       row.charge.target_pct)
        for row in rows if row.stack_id in wanted
    }  # fmt: skip


def _day(start: date, days: int) -> date:
    return start + timedelta(days=days)
