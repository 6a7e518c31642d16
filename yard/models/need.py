from django.db import models
from django.utils.translation import gettext_lazy as _


class NeedQuerySet(models.QuerySet["Need"]):
    def open(self) -> "NeedQuerySet":
        return self.filter(met_at=None)


class Need(models.Model):
    """Wood that a project wants: species, finished thickness, quantity, moisture, date."""

    name = models.CharField(_("for whom or what"), max_length=120)
    species = models.ForeignKey("yard.Species", models.PROTECT, related_name="needs", verbose_name=_("species"))
    thickness_mm = models.FloatField(_("finished thickness, mm"))
    volume_m3 = models.FloatField(_("volume, m³"))
    target_pct = models.FloatField(_("moisture, %"), default=8)
    wanted_by = models.DateField(_("wanted by"))
    note = models.CharField(_("note"), max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    met_at = models.DateTimeField(null=True, blank=True)

    objects = NeedQuerySet.as_manager()

    class Meta:
        ordering = ["wanted_by", "pk"]
        constraints = [models.CheckConstraint(condition=models.Q(volume_m3__gt=0), name="need_has_volume")]

    def __str__(self) -> str:
        return self.name
