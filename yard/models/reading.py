from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models import keptwords
from yard.models.toldfield import ToldField


class Method(models.TextChoices):
    PINS = "pins", _("pins")
    CAPACITANCE = "capacitance", _("capacitance")
    OVEN_DRY = "oven_dry", _("oven-dry sections")
    SAMPLE_BOARD = "sample_board", _("weighed sample board")


class ReadingQuerySet(models.QuerySet["Reading"]):
    def valid(self) -> "ReadingQuerySet":
        return self.filter(voided_at=None)


class Reading(models.Model):
    """One visit's measurement. Never edited away: a wrong one is voided with a reason.

    `raw` holds what was typed: meter values in %, or masses in g ([wet, oven-dry] pairs for sections, one mass a
    sample board in the order of `sample_labels`). `corrected_pct` holds the value of each, `moisture_pct` their mean.
    """

    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="readings")
    board = models.ForeignKey("yard.Board", models.PROTECT, null=True, blank=True, related_name="readings")
    method = models.CharField(_("method"), max_length=12, choices=Method)
    taken_at = models.DateTimeField(_("taken"))
    wood_temperature_c = models.FloatField(_("wood temperature, °C"), null=True, blank=True)
    meter_set_to = models.CharField(_("meter set to"), max_length=60, blank=True)
    raw = models.JSONField(default=list)
    sample_labels = models.JSONField(default=list, blank=True)
    corrected_pct = models.JSONField(default=list)
    moisture_pct = models.FloatField()
    notes = models.JSONField(default=list, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    void_reason = ToldField(_("reason"), tell=keptwords.reason, max_length=200, blank=True)

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ["-taken_at", "-pk"]
        indexes = [models.Index(fields=["stack", "taken_at"], name="reading_by_stack")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(moisture_pct__gte=0, moisture_pct__lte=250), name="reading_between_0_and_250"
            ),
            models.CheckConstraint(
                condition=models.Q(voided_at=None) | ~models.Q(void_reason=""), name="voided_reading_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.moisture_pct:.1f} % {self.taken_at:%Y-%m-%d}"

    @property
    def count(self) -> int:
        return len(self.corrected_pct)

    @property
    def low_pct(self) -> float:
        return min(self.corrected_pct, default=self.moisture_pct)

    @property
    def high_pct(self) -> float:
        return max(self.corrected_pct, default=self.moisture_pct)
