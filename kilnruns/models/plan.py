from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from kilnruns.models.load import Load


class PlanQuerySet(models.QuerySet["Plan"]):
    def in_force(self) -> "Plan | None":
        """The newest plan."""
        return self.order_by("-made_at", "-pk").first()


class Plan(models.Model):
    """What the planner answered once: proposals, and a reason for each stack left out.

    `read_at` is when the yard was read for it (none in plans of old), `basis` what it then was, `moved` what it moved
    against the plan before: see planning/basis.py and planning/moved.py.
    """

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    first_day = models.DateField()
    horizon_days = models.PositiveSmallIntegerField(default=56)
    careful = models.BooleanField(_("sure plan (nine in ten)"), default=False)
    value = models.FloatField()
    bound = models.FloatField()
    seconds = models.FloatField()
    cut_by_clock = models.BooleanField(default=False)
    notes = models.JSONField(default=dict, blank=True)
    read_at = models.DateTimeField(null=True)
    basis = models.JSONField(default=dict, blank=True)
    moved = models.JSONField(default=dict, blank=True)

    objects = PlanQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at"]

    def __str__(self) -> str:
        return f"plan of {self.made_at:%Y-%m-%d %H:%M}"

    @property
    def of_bound(self) -> float:
        """How much of the proven bound the plan reaches, 0 to 1."""
        return self.value / self.bound if self.bound > 0 else 1.0


class Proposal(Load):
    """One charge that a plan proposes. `layout` holds the drawing, `extra` the alternative and what is missing."""

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="proposals")
    kiln = models.ForeignKey("kilnruns.Kiln", models.CASCADE, related_name="proposals")
    group = models.CharField(max_length=60)
    extra = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["start_on", "kiln__place__name"]

    def __str__(self) -> str:
        return f"{self.kiln} from {self.start_on}"


class ProposalStack(models.Model):
    """How much of a stack a proposal takes; `pieces` are tally lines as [length_mm, width_mm, count]."""

    proposal = models.ForeignKey(Proposal, models.CASCADE, related_name="shares")
    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="+")
    share = models.FloatField()
    volume_m3 = models.FloatField()
    pieces = models.JSONField(default=list)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.share:.0%} of {self.stack_id}"


class LeftOut(models.Model):
    """Why a plan leaves a stack out: the planner's word for it and its figures."""

    plan = models.ForeignKey(Plan, models.CASCADE, related_name="left_out")
    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="+")
    why = models.CharField(max_length=24)
    figures = models.JSONField(default=dict)

    class Meta:
        ordering = ["stack__code"]

    def __str__(self) -> str:
        return f"{self.stack_id}: {self.why}"
