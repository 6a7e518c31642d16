"""Schedules that people wrote: each change of a charge's own copy, and what a kiln keeps for its next charges."""

from typing import Any

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class ScheduleChange(models.Model):
    """A charge's copy as it was left: `steps` and `closing` as in its course; `harder` says where it asks more of the
    wood than what was proposed, empty where it does not. `restored`: it is the proposed one again."""

    charge = models.ForeignKey("kilnruns.Charge", models.CASCADE, related_name="schedule_changes")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    steps = models.JSONField()
    closing = models.JSONField()
    harder = models.JSONField(default=list)
    restored = models.BooleanField(default=False)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"schedule of {self.charge_id}, {self.at:%Y-%m-%d}"


class KilnScheduleQuerySet(models.QuerySet["KilnSchedule"]):
    def kept(self) -> "KilnScheduleQuerySet":
        return self.filter(dropped_at=None)


class KilnSchedule(models.Model):
    """Steps that a kiln runs a species of about a thickness by, in place of the published ones, until dropped."""

    kiln = models.ForeignKey("kilnruns.Kiln", models.CASCADE, related_name="own_schedules")
    species = models.ForeignKey("yard.Species", models.PROTECT, related_name="+")
    thickness_mm = models.FloatField(_("green thickness, mm"))
    steps = models.JSONField()
    from_charge = models.ForeignKey("kilnruns.Charge", models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    dropped_at = models.DateTimeField(null=True, blank=True)

    objects: Any = KilnScheduleQuerySet.as_manager()

    class Meta:
        ordering = ["species__name", "thickness_mm", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["kiln", "species", "thickness_mm"],
                condition=models.Q(dropped_at=None),
                name="one_own_schedule_a_wood",
            )
        ]

    def __str__(self) -> str:
        return f"{self.species} {self.thickness_mm:g} mm in {self.kiln}"
