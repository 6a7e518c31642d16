"""The end of a run: final measurements, stress tests, degrade, what it cost, and what the kiln taught."""

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class FinalMeasurement(models.Model):
    """The boards of one stack, measured in the kiln or just unloaded.

    `reading` is the yard's reading of the boards' means: it has the values, as typed and corrected, when, by whom, and
    whether they were voided. `pairs_raw` are [core, shell] of single boards in % as typed, `pairs_pct` the same
    corrected; `dried_mm` thicknesses of boards that were `stack.thickness_mm` green.
    """

    charge = models.ForeignKey("kilnruns.Charge", models.CASCADE, related_name="final_measurements")
    reading = models.OneToOneField("yard.Reading", models.PROTECT, related_name="final_measurement")
    pairs_raw = models.JSONField(default=list, blank=True)
    pairs_pct = models.JSONField(default=list, blank=True)
    dried_mm = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["reading__taken_at", "pk"]

    def __str__(self) -> str:
        return f"{self.reading} in {self.charge_id}"


class StressTest(models.Model):
    """One stress section: prongs (tips apart when cut, and a day later), or the gap of a slice split in two; all mm.

    A prong test waits for its second look: `rested_mm` is empty until then. Never edited away: a wrong one is voided.
    `key` is that of the form that told it: a phone without reception knows the test by no other name.
    """

    class Kind(models.TextChoices):
        PRONG = "prong", _("prongs")
        GAP = "gap", _("split slice")

    charge = models.ForeignKey("kilnruns.Charge", models.CASCADE, related_name="stress_tests")
    stack = models.ForeignKey("yard.Stack", models.PROTECT, related_name="+")
    kind = models.CharField(_("kind"), max_length=5, choices=Kind)
    at = models.DateTimeField(_("cut at"))
    prong_mm = models.FloatField(_("length of the prongs, mm"), null=True, blank=True)
    fresh_mm = models.FloatField(_("tips apart when cut, mm"), null=True, blank=True)
    rested_mm = models.FloatField(_("tips apart a day later, mm"), null=True, blank=True)
    rested_at = models.DateTimeField(null=True, blank=True)
    gap_mm = models.FloatField(_("gap, mm"), null=True, blank=True)
    width_mm = models.FloatField(_("width of the slice, mm"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    key = models.UUIDField(null=True, blank=True, unique=True, editable=False)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(kind="prong") & Q(prong_mm__gt=0, fresh_mm__gte=0))
                | (Q(kind="gap") & Q(gap_mm__gte=0, width_mm__gt=0)),
                name="stress_test_has_its_sizes",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.stack_id} in {self.charge_id}"

    @property
    def is_waiting(self) -> bool:
        """Cut, and still to be looked at a second time."""
        return self.kind == self.Kind.PRONG and self.rested_mm is None


class Defect(models.TextChoices):
    SURFACE_CHECKS = "surface_checks", _("surface checks")
    END_CHECKS = "end_checks", _("end checks")
    WARP = "warp", _("warp")
    COLLAPSE = "collapse", _("collapse")
    HONEYCOMB = "honeycomb", _("honeycomb")
    STAIN = "stain", _("stain")


class Degrade(models.Model):
    """How much of a stack has a defect after drying, in % of its boards or of its volume. The latest of a kind counts;
    0 says that it was looked for and not found."""

    charge = models.ForeignKey("kilnruns.Charge", models.CASCADE, related_name="degrade")
    stack = models.ForeignKey("yard.Stack", models.PROTECT, related_name="+")
    kind = models.CharField(_("kind"), max_length=14, choices=Defect)
    share_pct = models.FloatField(_("share, %"), validators=[MinValueValidator(0), MaxValueValidator(100)])
    by_volume = models.BooleanField(_("of the volume"), default=False)
    at = models.DateTimeField()
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(share_pct__gte=0, share_pct__lte=100), name="degrade_is_a_share")
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.share_pct:g} % in {self.charge_id}"


class RunCosts(models.Model):
    """What a person adds to the account of a run: hours of work with what one costs, and a meter read elsewhere."""

    charge = models.OneToOneField("kilnruns.Charge", models.CASCADE, related_name="costs")
    labour_hours = models.FloatField(_("hours of work"), null=True, blank=True)
    hourly_rate = models.FloatField(_("an hour costs"), null=True, blank=True)
    energy_kwh = models.FloatField(_("electricity, by another meter"), null=True, blank=True)
    changed_at = models.DateTimeField(auto_now=True)
    changed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    def __str__(self) -> str:
        return f"costs of {self.charge_id}"


class KilnLesson(models.Model):
    """A figure of a kiln that its runs taught and a person took over: what it was, what it is, its band (P10 to P90),
    and from how many runs. Plans reckon with the kiln's own field; this row says where that came from."""

    class Quantity(models.TextChoices):
        WALL_U = "wall_u_w_m2k", _("heat through the walls, W/m²K")
        LEAK = "leak_per_h", _("air changes an hour with vents shut")

    kiln = models.ForeignKey("kilnruns.Kiln", models.CASCADE, related_name="lessons")
    quantity = models.CharField(max_length=12, choices=Quantity)
    before = models.FloatField()
    value = models.FloatField()
    low = models.FloatField()
    high = models.FloatField()
    runs = models.PositiveSmallIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.kiln_id}: {self.quantity} {self.value:g}"
