"""The mill's own figures of sawing and cutting: what is lost, and how boards lie in the log."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from yard.models.onerow import OneRow


class Sawn(models.TextChoices):
    """How the rings run in a board, which says by which shrinkage it loses thickness and width."""

    ANY = "any", _("not known: the larger shrinkage both ways")
    FLAT = "flat", _("flat-sawn")
    QUARTER = "quarter", _("quarter-sawn")
    MIXED = "mixed", _("mixed: the mean of both")


class MillFigures(OneRow):
    """One row at most; without it the defaults hold, which are common practice, no source. Shares are 0 to 1.

    `log_yield`: sawn wood of a log; `cut_yield`: finished wood of green boards in random widths; `planing_mm` off each
    face and edge; `trim_mm` off a board's ends in all; the log is the usual one, by its diameter at half its length.
    """

    log_yield = models.FloatField(default=0.55)
    cut_yield = models.FloatField(default=0.6)
    planing_mm = models.FloatField(default=1.5)
    trim_mm = models.PositiveSmallIntegerField(default=100)
    kerf_mm = models.PositiveSmallIntegerField(default=4)
    log_diameter_mm = models.PositiveSmallIntegerField(default=350)
    log_length_m = models.FloatField(default=4)
    sawn = models.CharField(max_length=7, choices=Sawn, default=Sawn.ANY)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="mill_figures_are_one_row")]

    def __str__(self) -> str:
        return "figures of the mill"

    @property
    def are_usual(self) -> bool:
        usual = MillFigures()
        return all(getattr(self, name) == getattr(usual, name) for name in FIGURES)


FIGURES = (
    "log_yield",
    "cut_yield",
    "planing_mm",
    "trim_mm",
    "kerf_mm",
    "log_diameter_mm",
    "log_length_m",
    "sawn",
)
