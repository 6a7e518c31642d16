"""Plans asked for and made off the request: asked, cancelled, taken up again. The work itself is in `working`."""

from datetime import date, datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone
from django_tasks import task

from kilnruns.actions import working
from kilnruns.models import Planning, Reckoning


@task()
def make_asked_plan(pk: int) -> None:
    """What a worker does. Twice for one planning does no harm: the second finds it claimed or ended."""
    working.work(pk)


def ask(
    *, first_day: date, horizon_days: int, careful: bool, by: Any, freely: bool = False, at: datetime | None = None
) -> tuple[Planning, bool]:
    """A planning in work and whether it is new: while one is in work, a second tap is answered with that one.

    The row and its task are written together, so that none is without the other.
    """
    wish = {"first_day": first_day, "horizon_days": horizon_days, "careful": careful, "freely": freely}
    try:
        with transaction.atomic():
            planning = Planning.objects.create(asked_by=by, asked_at=at or timezone.now(), **wish)
            make_asked_plan.enqueue(planning.pk)
    except IntegrityError:
        found = Planning.objects.in_work().first()
        if found is None:
            raise
        return found, False
    planning.refresh_from_db()
    return planning, True


def cancel(*, planning: Planning, at: datetime) -> bool:
    """The plan in force stays. Its worker sees it within a second. False if it had ended already."""
    return bool(Planning.objects.in_work().filter(pk=planning.pk).update(cancelled_at=at))


def want_best(*, planning: Planning, at: datetime) -> bool:
    """End it with the best plan found so far. False if it had ended already, or nothing has begun on it yet."""
    begun = Planning.objects.in_work().filter(pk=planning.pk, started_at__isnull=False)
    return bool(begun.update(best_wanted_at=at))


def take_up_lost(*, at: datetime) -> int:
    """Queue again what a worker has lost, or give it up; how many were queued."""
    return working.taken_up(Planning.objects, make_asked_plan, at, failure="broken_off")


def hand_back(*, workers: str) -> int:
    """Their worker ends or has died: what it had in work may be taken up at once, by whoever comes first."""
    theirs = (rows.in_work().filter(worker__startswith=workers) for rows in (Planning.objects, Reckoning.objects))
    return sum(rows.update(worker="", beat_at=None) for rows in theirs)
