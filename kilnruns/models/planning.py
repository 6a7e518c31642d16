"""A plan in work: who asked for it, how far it is, how it ended."""

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

LOST_AFTER = timedelta(seconds=20)
"""So long without a sign of life its worker counts as gone; a worker gives one each second."""
UNCLAIMED_AFTER = timedelta(seconds=60)
MOST_TRIES = 3
IN_WORK = Q(finished_at=None, cancelled_at=None, failed_at=None)


class PlanningQuerySet(models.QuerySet["Planning"]):
    def in_work(self) -> "PlanningQuerySet":
        """Asked for and not ended: at most one."""
        return self.filter(IN_WORK)

    def lost(self, now: datetime) -> "PlanningQuerySet":
        """In work, but its worker has gone silent or handed it back, or its task never came to one."""
        silent = Q(beat_at__lt=now - LOST_AFTER) | Q(worker="", started_at__isnull=False, beat_at=None)
        unclaimed = Q(started_at=None, beat_at=None, asked_at__lt=now - UNCLAIMED_AFTER)
        return self.in_work().filter(silent | unclaimed)


class Planning(models.Model):
    """One planning off the request. Its state follows from its moments and is not stored.

    `worker` names the try that has it now, `beat_at` is that one's last sign of life. `best_wanted_at`: someone wants
    the best plan found so far. `spent` is the share of its time, `value` and `bound` are what it has found so far.
    `first_plan` is a quick plan for the meantime, `plan` what it made in the end. `failure`: broken_off or error.
    """

    asked_at = models.DateTimeField(default=timezone.now)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    first_day = models.DateField()
    horizon_days = models.PositiveSmallIntegerField(default=56)
    careful = models.BooleanField(default=False)
    freely = models.BooleanField(default=False)
    started_at = models.DateTimeField(null=True)
    beat_at = models.DateTimeField(null=True)
    worker = models.CharField(max_length=64, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    spent = models.FloatField(default=0)
    value = models.FloatField(null=True)
    bound = models.FloatField(null=True)
    best_wanted_at = models.DateTimeField(null=True)
    finished_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    failed_at = models.DateTimeField(null=True)
    failure = models.CharField(max_length=20, blank=True)
    first_plan = models.ForeignKey("kilnruns.Plan", models.SET_NULL, null=True, related_name="+")
    plan = models.ForeignKey("kilnruns.Plan", models.SET_NULL, null=True, related_name="plannings")

    objects = PlanningQuerySet.as_manager()

    class Meta:
        ordering = ["-asked_at", "-pk"]
        constraints = [
            # The expression is true for every row that the condition lets in, so that there can be one alone.
            models.UniqueConstraint(
                models.ExpressionWrapper(Q(finished_at__isnull=True), models.BooleanField()),
                condition=IN_WORK,
                name="one_planning_in_work",
            ),
        ]

    def __str__(self) -> str:
        return f"planning of {self.asked_at:%Y-%m-%d %H:%M}: {self.state}"

    @property
    def state(self) -> str:
        """finished, cancelled, failed, working, again (its worker was lost; it will be taken up) or waiting."""
        if self.finished_at:
            return "finished"
        if self.cancelled_at:
            return "cancelled"
        if self.failed_at:
            return "failed"
        if self.worker:
            return "working"
        return "again" if self.started_at else "waiting"

    @property
    def is_in_work(self) -> bool:
        return self.state in ("working", "again", "waiting")

    @property
    def found_no_better(self) -> bool:
        """It ended with the plan that had been in force."""
        return self.plan is not None and self.plan.made_at < self.asked_at

    @property
    def is_silent(self) -> bool:
        """Nothing has taken it up for a while: there may be no worker."""
        since = self.beat_at or self.asked_at
        return self.is_in_work and since < timezone.now() - LOST_AFTER

    @property
    def spent_pct(self) -> int:
        return round(100 * min(max(self.spent, 0.0), 1.0))

    @property
    def of_bound(self) -> float | None:
        """How much of the bound the best plan so far reaches, 0 to 1; None while there is no bound."""
        if self.value is None or not self.bound or self.bound <= 0:
            return None
        return min(max(self.value / self.bound, 0.0), 1.0)
