"""What wood is worth and what it has cost, in the mill's currency for a m³ as tallied green."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models.onerow import OneRow


class Price(models.Model):
    """What the owner takes a species to be worth: kiln-dried, and as it stands before that. None where not said."""

    species = models.OneToOneField("yard.Species", models.CASCADE, related_name="price")
    dry_per_m3 = models.FloatField(_("kiln-dried, per m³"), null=True, blank=True)
    green_per_m3 = models.FloatField(_("not yet dry, per m³"), null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(models.Q(dry_per_m3=None) | models.Q(dry_per_m3__gte=0))
                & (models.Q(green_per_m3=None) | models.Q(green_per_m3__gte=0)),
                name="price_is_not_below_nothing",
            ),
        ]

    def __str__(self) -> str:
        return f"price of {self.species_id}"


class CostRates(OneRow):
    """The mill's usual costs of a m³; a stack may have its own. One row at most; None where not said."""

    log_per_m3 = models.FloatField(_("logs, per m³ sawn"), null=True, blank=True)
    sawing_per_m3 = models.FloatField(_("sawing, per m³ sawn"), null=True, blank=True)
    stacking_per_m3 = models.FloatField(_("stacking and care, per m³ sawn"), null=True, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="cost_rates_are_one_row")]

    def __str__(self) -> str:
        return "the mill's costs"
