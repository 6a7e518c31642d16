"""What a fixing costs: asked for, reckoned off the request with signs of life, taken up again where it was lost."""

import logging
from dataclasses import asdict
from datetime import datetime

from django.db import transaction
from django.db.models import F
from django.utils import timezone
from django_tasks import task

from kilnruns.actions.fixings import count_cost
from kilnruns.actions.working import Pulse, UnwantedError, new_name, taken_up
from kilnruns.models import Fixing, Plan, Reckoning
from kilnruns.planning import fixings as asked
from kilnruns.planning.horizon import USUAL_DAYS

log = logging.getLogger(__name__)


@task()
def reckon_cost(pk: int) -> None:
    """What a worker does, by the reckoning's key. Twice does no harm: the second finds it claimed or ended."""
    reckon(pk)


def ask_cost(*, fixing: Fixing, at: datetime) -> Reckoning:
    """A reckoning in work: the one that is, or a new one in place of what was found before."""
    with transaction.atomic():
        row, is_new = Reckoning.objects.get_or_create(fixing=fixing, defaults={"asked_at": at})
        anew = {"asked_at": at, "beat_at": None, "worker": "", "tries": 0}
        ended = Reckoning.objects.filter(pk=row.pk).exclude(finished_at=None, failed_at=None)
        if is_new or ended.update(**anew, finished_at=None, failed_at=None, found=None):
            reckon_cost.enqueue(row.pk)
    row.refresh_from_db()
    return row


def take_up_lost_costs(*, at: datetime) -> int:
    """Queue again what a worker has lost, or give it up; how many were queued."""
    return taken_up(Reckoning.objects, reckon_cost, at)


class CostPulse(Pulse):
    """The sign of life of one try; whether its fixing still stands."""

    def __init__(self, row: Reckoning) -> None:
        super().__init__(None)
        self.row = row

    def beat(self) -> None:
        self._told_at = timezone.now()
        mine = Reckoning.objects.in_work().filter(pk=self.row.pk, worker=self.row.worker)
        self.is_wanted = bool(mine.update(beat_at=self._told_at))


def reckon(pk: int) -> None:
    """Reckon it, unless it has ended or another has it in work. What goes wrong is kept with it and raised."""
    row = claim(pk)
    if row is None:
        return
    mine = Reckoning.objects.in_work().filter(pk=pk, worker=row.worker)
    try:
        with CostPulse(row) as pulse:
            cost = _cost(row, pulse)
    except UnwantedError:
        return
    except Exception:
        log.exception("reckoning %s failed", pk)
        mine.update(failed_at=timezone.now())
        raise
    with transaction.atomic():
        now = timezone.now()
        if mine.update(finished_at=now, found=asdict(cost)):
            count_cost(fixing=row.fixing, cost=cost.eur, at=now)


def claim(pk: int) -> Reckoning | None:
    """Put one's name on it, in one statement; None where another's is there or it has ended."""
    free = Reckoning.objects.in_work().filter(pk=pk, worker="")
    if not free.update(worker=new_name(), beat_at=timezone.now(), tries=F("tries") + 1):
        return None
    return Reckoning.objects.select_related("fixing__stack", "fixing__other", "fixing__kiln").get(pk=pk)


def _cost(row: Reckoning, pulse: Pulse) -> asked.Cost:
    """As far ahead and as sure as the plan in force."""
    plan, on = Plan.objects.in_force(), timezone.localdate()
    days, careful = (plan.horizon_days, plan.careful) if plan else (USUAL_DAYS, False)
    return asked.cost_of(row.fixing, first_day=on, horizon_days=days, careful=careful, progress=pulse.progress)
