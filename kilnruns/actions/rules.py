"""Writes over the rules of the whole mill: its figures, loading days, days off."""

from datetime import datetime
from typing import Any

from django.db import transaction

from kilnruns.models import DayOff, PlanningRules
from yard.changes import MILL, Watched, keeps


def of_days_off(off: DayOff) -> Watched:
    return Watched([MILL], [DayOff.objects.filter(pk=off.pk)])


@transaction.atomic
@keeps(
    "rules_changed",
    lambda rules, **_given: Watched([MILL], [PlanningRules.objects.filter(pk=rules.pk)]),
    lambda rules: ([], [rules]),
)
def keep_rules(*, rules: PlanningRules, by: Any, at: datetime) -> PlanningRules:
    """Who shares a charge, and on which weekdays one loads: the next plan goes by it."""
    rules.save()
    return rules


@transaction.atomic
@keeps("days_off_kept", lambda off, **_given: of_days_off(off), lambda off: ([], [off]))
def keep_days_off(*, off: DayOff, by: Any, at: datetime) -> DayOff:
    """New or changed days on which no kiln is loaded."""
    off.save()
    return off


@transaction.atomic
@keeps("days_off_lifted", lambda off, **_given: of_days_off(off))
def lift_days_off(*, off: DayOff, by: Any, at: datetime) -> None:
    """Kilns may be loaded on them again."""
    off.delete()
