"""What is true of every plan of the mill: who shares a charge, and on which days kilns are loaded."""

from datetime import date
from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models.onerow import OneRow

MONDAY_TO_SATURDAY = (0, 1, 2, 3, 4, 5)


def usual_days() -> list[int]:
    return list(MONDAY_TO_SATURDAY)


class PlanningRules(OneRow):
    """One row at most; without it the defaults hold. Shares are 0 to 1; weekdays count from Monday as 0."""

    thinnest_to_thickest = models.FloatField(default=0.75)
    moisture_window_pct = models.FloatField(default=5)
    smallest_fill = models.FloatField(default=0.6)
    smallest_part = models.FloatField(default=0.15)
    loading_days = models.JSONField(default=usual_days)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="planning_rules_are_one_row")]

    def __str__(self) -> str:
        return "planning rules"

    @property
    def figures(self) -> dict[str, float]:
        return {name: getattr(self, name) for name in FIGURES}

    @property
    def are_usual(self) -> bool:
        return self.figures == PlanningRules().figures


FIGURES = ("thinnest_to_thickest", "moisture_window_pct", "smallest_fill", "smallest_part")


class DayOff(models.Model):
    """Days on which no kiln of the mill is loaded; a run goes on. Both days included."""

    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))
    reason = models.CharField(_("reason"), max_length=120, blank=True)

    class Meta:
        ordering = ["first_day", "pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(last_day__gte=models.F("first_day")), name="day_off_runs_forward")
        ]

    def __str__(self) -> str:
        return f"{self.first_day} to {self.last_day}"

    def covers(self, day: date) -> bool:
        return self.first_day <= day <= self.last_day

    @classmethod
    def from_day(cls, on: date) -> Any:
        """Those that are not over yet."""
        return cls.objects.filter(last_day__gte=on)
