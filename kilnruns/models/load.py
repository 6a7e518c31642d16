"""What a proposed and an accepted charge have in common."""

from datetime import date, timedelta

from django.db import models
from django.utils.translation import gettext_lazy as _


class Load(models.Model):
    """Kiln, days with their band, and what the planner says of the load; `layout` is the drawing's coordinates.

    `fill` is wood over the space, `fill_bound` its proven upper bound, `of_attainable` the one over the other.
    """

    start_on = models.DateField(_("start"))
    days = models.PositiveSmallIntegerField(_("days"))
    days_low = models.PositiveSmallIntegerField()
    days_high = models.PositiveSmallIntegerField()
    target_pct = models.FloatField(_("target, %"))
    volume_m3 = models.FloatField()
    fill = models.FloatField()
    fill_bound = models.FloatField()
    of_attainable = models.FloatField()
    energy_kwh = models.FloatField()
    water_kg = models.FloatField()
    cost = models.FloatField()
    layout = models.JSONField()

    class Meta:
        abstract = True

    @property
    def ends_on(self) -> date:
        return self.start_on + timedelta(days=self.days)


LOAD_FIELDS = tuple(field.name for field in Load._meta.local_fields)
"""What an accepted proposal hands on to its charge."""
