"""What an operator notes of a run in hand: one visit to the kiln, one record."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models import keptwords
from yard.models.toldfield import ToldField


class Phase(models.TextChoices):
    """What the kiln is doing; `drying` is where the schedule's steps are, `steaming` a short while between them."""

    WARM_UP = "warm_up", _("warm-up")
    DRYING = "drying", _("drying")
    STEAMING = "steaming", _("steaming")
    EQUALISING = "equalising", _("equalising")
    CONDITIONING = "conditioning", _("conditioning")
    COOLING = "cooling", _("cooling down")


class Fans(models.TextChoices):
    RUNNING = "running", _("running")
    SLOW = "slow", _("slow")
    OFF = "off", _("off")


class RunRecordQuerySet(models.QuerySet["RunRecord"]):
    def valid(self) -> "RunRecordQuerySet":
        return self.filter(voided_at=None)


class RunRecord(models.Model):
    """One visit to a running kiln: what was seen, and what was set. Never edited away: a wrong one is voided.

    Everything is optional. `phase` and `step` (of the charge's own schedule, counted from 1) say what the kiln was set
    to at this visit, empty where nothing was changed. Air in °C and % relative humidity; `vents_pct` is how far they
    stand open; `heater_steps` how many of the heater's steps (phases) are on; `meter_kwh` what the power meter shows.
    `readings` are the sample boards weighed and the meter values taken at this visit: the yard's own readings.
    """

    charge = models.ForeignKey("kilnruns.Charge", models.CASCADE, related_name="records")
    at = models.DateTimeField(_("when"))
    phase = models.CharField(_("phase"), max_length=12, choices=Phase, blank=True)
    step = models.PositiveSmallIntegerField(_("step of the schedule"), null=True, blank=True)
    dry_bulb_c = models.FloatField(_("dry bulb, °C"), null=True, blank=True)
    wet_bulb_c = models.FloatField(_("wet bulb, °C"), null=True, blank=True)
    humidity_pct = models.FloatField(_("relative humidity, %"), null=True, blank=True)
    vents_pct = models.PositiveSmallIntegerField(_("vents open, %"), null=True, blank=True)
    fans = models.CharField(_("fans"), max_length=8, choices=Fans, blank=True)
    heater_steps = models.PositiveSmallIntegerField(_("heater steps on"), null=True, blank=True)
    meter_kwh = models.FloatField(_("power meter, kWh"), null=True, blank=True)
    note = models.TextField(_("note"), blank=True)
    photo = models.ImageField(_("photo"), upload_to="runs/%Y/%m/", blank=True)
    readings = models.ManyToManyField("yard.Reading", blank=True, related_name="run_records")
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    void_reason = ToldField(_("reason"), tell=keptwords.reason, max_length=200, blank=True)

    objects = RunRecordQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]
        indexes = [models.Index(fields=["charge", "at"], name="run_record_by_charge")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(vents_pct=None) | models.Q(vents_pct__lte=100), name="vents_open_0_to_100"
            ),
            models.CheckConstraint(
                condition=models.Q(voided_at=None) | ~models.Q(void_reason=""), name="voided_record_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.charge_id} at {self.at:%Y-%m-%d %H:%M}"
