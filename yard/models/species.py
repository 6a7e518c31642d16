from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models import woodname
from yard.models.toldfield import ToldField, kept


class WoodClass(models.TextChoices):
    HARDWOOD = "hardwood", _("hardwood")
    SOFTWOOD = "softwood", _("softwood")


class DryingGroup(models.TextChoices):
    """Woods whose kiln schedules can be shared; our own grouping after the published schedule index."""

    SOFTWOOD = "softwood", _("softwood")
    LIGHT_HARDWOOD = "light_hardwood", _("light hardwood")
    MEDIUM_HARDWOOD = "medium_hardwood", _("medium hardwood")
    SLOW_HARDWOOD = "slow_hardwood", _("slow hardwood")


class Species(models.Model):
    """A wood, as the forecast, the shrinkage and the kiln need it.

    The rows come from the packaged table with their sources; an owner may change or add one, and `is_own` then
    keeps it from being refreshed out of the table.
    """

    key = models.SlugField(_("short name"), max_length=60, unique=True)
    name = ToldField(_("name"), tell=woodname.told, max_length=80, unique=True)
    latin_name = models.CharField(_("Latin name"), max_length=80, blank=True)
    region = models.CharField(_("region"), max_length=40, blank=True)
    wood_class = models.CharField(_("class"), max_length=8, choices=WoodClass)
    drying_group = models.CharField(_("drying group"), max_length=20, choices=DryingGroup)
    basic_density_kg_m3 = models.FloatField(_("basic density, kg/m³"))
    green_heartwood_pct = models.FloatField(_("green moisture of heartwood, %"), null=True, blank=True)
    green_sapwood_pct = models.FloatField(_("green moisture of sapwood, %"), null=True, blank=True)
    shrinkage_radial_pct = models.FloatField(_("radial shrinkage, %"), null=True, blank=True)
    shrinkage_tangential_pct = models.FloatField(_("tangential shrinkage, %"), null=True, blank=True)
    shrinkage_volumetric_pct = models.FloatField(_("volumetric shrinkage, %"), null=True, blank=True)
    permeability = models.FloatField(_("free-water factor"), default=1)
    rate = models.FloatField(_("drying rate factor"), default=0.35)
    rate_log_sd = models.FloatField(_("spread of the rate factor (log)"), default=0.6)
    safe_rate_pct_per_day = models.FloatField(_("safe loss of 25 mm boards, % a day"), null=True, blank=True)
    schedule_25mm = models.CharField(_("kiln schedule, 25 to 38 mm"), max_length=20, blank=True)
    schedule_50mm = models.CharField(_("kiln schedule, 50 mm"), max_length=20, blank=True)
    meter_key = models.CharField(_("meter curve"), max_length=60, blank=True)
    sources = models.JSONField(_("sources"), default=dict, blank=True)
    is_own = models.BooleanField(_("added or changed here"), default=False)

    class Meta:
        ordering = ["name"]
        verbose_name = _("species")
        verbose_name_plural = _("species")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(basic_density_kg_m3__gte=100, basic_density_kg_m3__lte=1300),
                name="species_density_is_woods",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def kept_name(self) -> str:
        """As the book has it, for what is kept or goes into a file: the same for all readers."""
        return kept(self, "name")
