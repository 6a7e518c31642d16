from datetime import date, timedelta

from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models.place import PlaceKind


class DailyWeather(models.Model):
    """One observed day of a place: mean temperature and relative humidity of the air; rain where it was measured."""

    place = models.ForeignKey("yard.Place", models.CASCADE, related_name="weather")
    day = models.DateField(_("day"))
    temperature_c = models.FloatField(_("mean temperature, °C"))
    humidity_pct = models.FloatField(_("mean relative humidity, %"))
    rain_mm = models.FloatField(_("rain, mm"), null=True, blank=True)

    class Meta:
        ordering = ["day"]
        constraints = [models.UniqueConstraint(fields=["place", "day"], name="a_place_has_one_weather_a_day")]

    def __str__(self) -> str:
        return f"{self.place_id}, {self.day:%Y-%m-%d}"


class FormerKind(models.Model):
    """A place was of another kind before the day `until`: a shed that was closed, a row that got covers."""

    place = models.ForeignKey("yard.Place", models.CASCADE, related_name="former_kinds")
    kind = models.CharField(_("kind"), max_length=12, choices=PlaceKind)
    until = models.DateField(_("until"))

    class Meta:
        ordering = ["until", "pk"]
        constraints = [models.UniqueConstraint(fields=["place", "until"], name="a_place_changes_once_a_day")]

    def __str__(self) -> str:
        return f"{self.kind} until {self.until:%Y-%m-%d}"

    @property
    def last_day(self) -> date:
        """The last day on which it was so."""
        return self.until - timedelta(days=1)
