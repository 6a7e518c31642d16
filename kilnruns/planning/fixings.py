"""What a person's wish collides with, and what it costs: asked of the planner before or after the wish is kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from drying import plan as core
from kilnruns.models import Fixing
from kilnruns.planning.case import case
from kilnruns.planning.days import work_days
from kilnruns.planning.fixed import told, wish, wishes
from kilnruns.planning.groups import rules
from kilnruns.planning.solving import fixings_in_force, solved

COST_SECONDS = 6.0  # for each of the two plans that are compared: at most; sixty stacks end their search in half of it


@dataclass(frozen=True, slots=True)
class Cost:
    """`eur` is what the best plan found loses by a fixing (in the owner's money; never below 0: more search can only
    find as much without it). `unmet`: what it collides with, as plain data; then the plan is made without it."""

    eur: float
    with_it: float
    without: float
    cut_by_clock: bool
    unmet: list[dict[str, Any]]


def clashes_of(fixings: Sequence[Fixing], first_day: date, horizon_days: int, careful: bool) -> list[dict[str, Any]]:
    """What new wishes collide with, in turn, beside all that is fixed already: no plan is made for it."""
    before = [one for one in fixings_in_force(first_day) if not any(new.replaces(one) for new in fixings)]
    every = [*before, *fixings]
    codes = {stack.code for one in every for stack in (one.stack, one.other) if stack}
    given = case(first_day, horizon_days, careful, only=codes)
    asked = [*wishes(before, first_day, given.lumber), *(wish(one, first_day) for one in fixings)]
    found = core.clashes(
        list(given.lumber.values()),
        list(given.offers),
        asked,
        horizon_days=horizon_days,
        careful=careful,
        work_days=work_days(first_day, horizon_days),
        rules=rules(),
    )
    new = {wish(one, first_day) for one in fixings}
    return told([one for one in found if one.fixing in new], every, first_day, given.kept_from)


def cost_of(
    fixing: Fixing,
    *,
    first_day: date,
    horizon_days: int = 56,
    careful: bool = False,
    seconds: float = COST_SECONDS,
    progress: core.Progress | None = None,
) -> Cost:
    """The value of the plan without this fixing less that with it, all others kept in both; rows are not written.

    `progress` is told of each of the two searches in turn, and may end them; then the cost is of what was found.
    """
    given = case(first_day, horizon_days, careful)
    others = [one for one in fixings_in_force(first_day) if not fixing.replaces(one)]
    asked: dict[str, Any] = {"first_day": first_day, "horizon_days": horizon_days, "careful": careful}
    # At no bonus for what the other plan has, so that both are judged alike.
    asked |= {"seconds": seconds, "rules": rules(retention=0.0), "progress": progress}
    without = solved(given, others, **asked)
    with_it = solved(given, [*others, fixing], **asked, in_force=without)
    mine = wish(fixing, first_day)
    best = max(with_it.value, without.value)
    return Cost(
        eur=best - with_it.value,
        with_it=with_it.value,
        without=best,
        cut_by_clock=with_it.cut_by_clock or without.cut_by_clock,
        unmet=told([one for one in with_it.unmet if one.fixing == mine], [fixing], first_day, given.kept_from),
    )
