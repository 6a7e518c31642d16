from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models import keptwords
from yard.models.toldfield import ToldField


class LearningChange(models.Model):
    """What a person said about what the yard has learned; a log, never edited. The last line on a stack holds.

    LEFT_OUT and PUT_BACK name a stack. RESET names a species, a place (a kiln is one too), both, or, with neither, all:
    what was read up to then teaches nothing about that any more.
    """

    class Kind(models.TextChoices):
        LEFT_OUT = "left_out", _("left out")
        PUT_BACK = "put_back", _("put back")
        RESET = "reset", _("reset")

    kind = models.CharField(max_length=8, choices=Kind)
    stack = models.ForeignKey("yard.Stack", models.CASCADE, null=True, blank=True, related_name="learning_changes")
    species = models.ForeignKey("yard.Species", models.CASCADE, null=True, blank=True, related_name="+")
    place = models.ForeignKey("yard.Place", models.CASCADE, null=True, blank=True, related_name="+")
    reason = ToldField(_("reason"), tell=keptwords.reason, max_length=200)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="reset", stack=None)
                | models.Q(stack__isnull=False, species=None, place=None, kind__in=["left_out", "put_back"]),
                name="learning_change_names_its_object",
            ),
            models.CheckConstraint(condition=~models.Q(reason=""), name="learning_change_has_a_reason"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%Y-%m-%d}"
