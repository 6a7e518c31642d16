"""What a fixing costs, reckoned off the request: asked for, in work, found."""

from datetime import datetime, timedelta
from typing import Any

from django.db import models
from django.db.models import Q
from django.utils import timezone

from kilnruns.models.planning import LOST_AFTER, UNCLAIMED_AFTER, Planning

IN_WORK = Q(finished_at=None, failed_at=None, fixing__lifted_at=None)


class ReckoningQuerySet(models.QuerySet["Reckoning"]):
    def in_work(self) -> "ReckoningQuerySet":
        """Asked for and not ended; what was lifted since is wanted no more."""
        return self.filter(IN_WORK)

    def lost(self, now: datetime) -> "ReckoningQuerySet":
        """In work, but its worker has gone silent or handed it back, or no worker took it up though none plans."""
        silent = Q(beat_at__lt=now - LOST_AFTER) | Q(worker="", tries__gt=0, beat_at=None)
        if Planning.objects.in_work().exists():
            return self.in_work().exclude(worker="", tries=0).filter(silent)
        return self.in_work().filter(silent | Q(tries=0, beat_at=None, asked_at__lt=now - UNCLAIMED_AFTER))


class Reckoning(models.Model):
    """The latest one of a fixing. `worker` names the try that has it now, `beat_at` is that one's last sign of life.

    `found` is what it found, as plain data: `eur`, `with_it`, `without` (the mill's money), `cut_by_clock`, `unmet`.
    """

    fixing = models.OneToOneField("kilnruns.Fixing", models.CASCADE, related_name="reckoning")
    asked_at = models.DateTimeField(default=timezone.now)
    beat_at = models.DateTimeField(null=True)
    worker = models.CharField(max_length=64, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)
    finished_at = models.DateTimeField(null=True)
    failed_at = models.DateTimeField(null=True)
    found: Any = models.JSONField(null=True)

    objects = ReckoningQuerySet.as_manager()

    def __str__(self) -> str:
        return f"reckoning of fixing {self.fixing_id}: {self.state}"

    @property
    def state(self) -> str:
        """finished, failed, working, or waiting for a worker."""
        if self.finished_at:
            return "finished"
        if self.failed_at:
            return "failed"
        return "working" if self.worker else "waiting"

    @property
    def is_in_work(self) -> bool:
        return self.state in ("working", "waiting")

    @property
    def is_silent(self) -> bool:
        """Nothing has taken it up for a while: there may be no worker."""
        since: timedelta = timezone.now() - (self.beat_at or self.asked_at)
        return self.is_in_work and since > LOST_AFTER
