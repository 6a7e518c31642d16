from django.conf import settings
from django.db import models
from django.urls import reverse

from kilnruns.models.load import Load


class ChargeQuerySet(models.QuerySet["Charge"]):
    def ahead(self) -> "ChargeQuerySet":
        """Planned or in the kiln: later plans leave these alone."""
        return self.filter(called_off_at=None, unloaded_at=None)

    def in_kiln(self) -> "ChargeQuerySet":
        """The door is closed, or some of it is loaded already."""
        return self.ahead().filter(stacks__loaded_at__isnull=False).distinct()


class Charge(Load):
    """What goes through the kiln together. Its state follows from what has been done, and is not stored."""

    kiln = models.ForeignKey("kilnruns.Kiln", models.PROTECT, related_name="charges")
    proposal = models.OneToOneField("kilnruns.Proposal", models.SET_NULL, null=True, blank=True, related_name="charge")
    course = models.JSONField(default=dict, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    started_at = models.DateTimeField(null=True, blank=True)
    unloaded_at = models.DateTimeField(null=True, blank=True)
    called_off_at = models.DateTimeField(null=True, blank=True)

    objects = ChargeQuerySet.as_manager()

    class Meta:
        ordering = ["start_on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(days_low__lte=models.F("days"), days_high__gte=models.F("days")),
                name="charge_days_within_band",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kiln} from {self.start_on}"

    def get_absolute_url(self) -> str:
        return reverse("charge", args=[self.pk])

    @property
    def state(self) -> str:
        """planned, loading, drying, done or called_off."""
        if self.called_off_at:
            return "called_off"
        if self.unloaded_at:
            return "done"
        if self.started_at:
            return "drying"
        return "loading" if any(item.loaded_at for item in self.stacks.all()) else "planned"


class ChargeStack(models.Model):
    """A whole stack in a charge (a part was split off when the charge was accepted). `pins_left`: at how many places
    meter pins stay in its wood during the run, wires to the outside, instead of sample boards; 0 at none."""

    charge = models.ForeignKey(Charge, models.CASCADE, related_name="stacks")
    stack = models.ForeignKey("yard.Stack", models.PROTECT, related_name="charge_stacks")
    volume_m3 = models.FloatField()
    pins_left = models.PositiveSmallIntegerField(default=0)
    loaded_at = models.DateTimeField(null=True, blank=True)
    loaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    unloaded_at = models.DateTimeField(null=True, blank=True)
    unloaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint(fields=["charge", "stack"], name="stack_once_in_a_charge")]

    def __str__(self) -> str:
        return f"{self.stack_id} in {self.charge_id}"
