"""Fixing what a plan must keep, and lifting it again."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from kilnruns.models import Fixing
from yard.changes import Watched, keeps
from yard.models import Stack


@transaction.atomic
@keeps("fixed", lambda fixings, **_given: Watched(_stacks(fixings), [_of(fixings)]), lambda rows: ([], rows))
def fix(*, fixings: Sequence[Fixing], by: Any, at: datetime) -> list[Fixing]:
    """Keep new wishes; what they stand for in place of is lifted. Asked twice, it is kept once."""
    kept = []
    for one in fixings:
        before = list(Fixing.objects.filter(lifted_at=None, stack=one.stack)) + list(
            Fixing.objects.filter(lifted_at=None, other=one.stack)
        )
        same = next((old for old in before if one.replaces(old) and _says(old) == _says(one)), None)
        if same is None:
            for old in before:
                if one.replaces(old):
                    lift(fixing=old, by=by, at=at)
            one.made_by, one.made_at = by, at
            one.save()
        kept.append(same or one)
    return kept


@transaction.atomic
@keeps("fixing_lifted", lambda fixing, **_given: Watched(_stacks([fixing]), [Fixing.objects.filter(pk=fixing.pk)]))
def lift(*, fixing: Fixing, by: Any, at: datetime) -> None:
    """The next plan need not keep it."""
    if fixing.lifted_at is None:
        fixing.lifted_by, fixing.lifted_at = by, at
        fixing.save(update_fields=["lifted_by", "lifted_at"])


def count_cost(*, fixing: Fixing, cost: float, at: datetime) -> None:
    """Keep what it was found to cost."""
    fixing.cost, fixing.counted_at = cost, at
    fixing.save(update_fields=["cost", "counted_at"])


def _says(one: Fixing) -> tuple[Any, ...]:
    return (one.kind, one.stack_id, one.kiln_id, one.start_on, one.until)


def _stacks(fixings: Sequence[Fixing]) -> list[Stack]:
    return [stack for one in fixings for stack in (one.stack, one.other) if stack]


def _of(fixings: Sequence[Fixing]) -> QuerySet[Fixing]:
    """Those that new ones could stand in place of."""
    keys = [one.stack_id for one in fixings]
    return Fixing.objects.filter(Q(stack__in=keys) | Q(other__in=keys), lifted_at=None)
