from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models import keptwords
from yard.models.toldfield import ToldField


class PlaceKind(models.TextChoices):
    OPEN_YARD = "open_yard", _("open yard")
    ROOFED_SHED = "roofed_shed", _("roofed shed")
    CLOSED_STORE = "closed_store", _("closed store")
    UNCOVERED = "uncovered", _("open yard without covers")
    KILN = "kiln", _("kiln")


class PlaceQuerySet(models.QuerySet["Place"]):
    def outdoors(self) -> "PlaceQuerySet":
        """Places where wood stands and dries by itself: all but kilns, and none that was given up."""
        return self.exclude(kind=PlaceKind.KILN).filter(given_up=False)


class Place(models.Model):
    """Where stacks stand, with its climate as twelve monthly means (January first); a kiln is a place too."""

    name = models.CharField(_("name"), max_length=60, unique=True)
    kind = models.CharField(_("kind"), max_length=12, choices=PlaceKind)
    temperatures_c = models.JSONField(_("monthly mean temperatures, °C"), default=list, blank=True)
    humidities_pct = models.JSONField(_("monthly mean relative humidities, %"), default=list, blank=True)
    altitude_m = models.FloatField(_("altitude, m"), default=0)
    climate_note = ToldField(_("where the climate comes from"), tell=keptwords.climate, max_length=200, blank=True)
    given_up = models.BooleanField(_("no longer used"), default=False)

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def is_kiln(self) -> bool:
        return self.kind == PlaceKind.KILN
