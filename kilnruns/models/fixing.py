"""What a person has fixed for a stack: plans keep it until it is lifted or its day is past."""

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from kilnruns.models.charge import Charge
from yard.models import Stack, keptwords
from yard.models.toldfield import ToldField


class FixingKind(models.TextChoices):
    INTO = "into", _("goes into a charge")
    HOLD = "hold", _("waits")
    START = "start", _("its charge starts on a day")
    APART = "apart", _("never goes together with another")


class FixingQuerySet(models.QuerySet["Fixing"]):
    def in_force(self, on: date) -> "FixingQuerySet":
        """Neither lifted nor past, of stacks that are still to be planned; the oldest first, since it stands first."""
        taken = Charge.objects.ahead().filter(stacks__stack__isnull=False).values("stacks__stack")
        past = Q(start_on__lt=on) | Q(kind=FixingKind.HOLD, until__lte=on)
        standing = self.filter(lifted_at=None, stack__in=Stack.objects.drying()).exclude(past)
        return standing.exclude(stack__in=taken).exclude(other__in=taken).order_by("made_at", "pk")

    def for_lists(self) -> "FixingQuerySet":
        return self.select_related("stack__species", "stack__place", "other__species", "kiln__place", "made_by")


class Fixing(models.Model):
    """`kiln` and `start_on` of a charge, `until` when it waits (None: until it is lifted), `other` when kept apart.

    `cost` is what the plan loses by it, in the mill's currency, as counted at `counted_at`."""

    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="+")
    kind = models.CharField(max_length=5, choices=FixingKind)
    kiln = models.ForeignKey("kilnruns.Kiln", models.CASCADE, null=True, blank=True, related_name="+")
    start_on = models.DateField(null=True, blank=True)
    until = models.DateField(null=True, blank=True)
    other = models.ForeignKey("yard.Stack", models.CASCADE, null=True, blank=True, related_name="+")
    reason = ToldField(_("why"), tell=keptwords.reason, max_length=120, blank=True)
    cost = models.FloatField(null=True, blank=True)
    counted_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    made_at = models.DateTimeField()
    lifted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    lifted_at = models.DateTimeField(null=True, blank=True)

    objects = FixingQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(kind="into") & Q(kiln__isnull=False, start_on__isnull=False))
                | (Q(kind="start") & Q(start_on__isnull=False))
                | Q(kind="hold")
                | (Q(kind="apart") & Q(other__isnull=False)),
                name="fixing_says_what_it_fixes",
            )
        ]

    def __str__(self) -> str:
        return f"{self.stack_id}: {self.kind}"

    def get_absolute_url(self) -> str:
        return reverse("fixing", args=[self.pk])

    def replaces(self, other: "Fixing") -> bool:
        """A stack has one way to go, and is kept apart from another once: the new wish stands for the former."""
        if self.kind == FixingKind.APART or other.kind == FixingKind.APART:
            mine, theirs = {self.stack_id, self.other_id}, {other.stack_id, other.other_id}
            return self.kind == other.kind and mine == theirs
        return self.stack_id == other.stack_id
