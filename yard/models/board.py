from django.db import models
from django.utils.translation import gettext_lazy as _


class Board(models.Model):
    """One valuable or live-edge piece with a tag of its own, in a stack."""

    stack = models.ForeignKey("yard.Stack", models.PROTECT, related_name="boards")
    code = models.CharField(_("tag"), max_length=10, unique=True)
    length_mm = models.PositiveIntegerField(_("length, mm"))
    width_mm = models.PositiveIntegerField(_("width, mm"))
    note = models.CharField(_("note"), max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return f"{self.code} {self.length_mm} x {self.width_mm}"


class SampleBoard(models.Model):
    """A board weighed again and again; its oven-dry mass follows from the sections cut beside it.

    While the sections are in the oven their second mass is None, and the oven-dry mass is a meter's, provisionally.
    """

    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="sample_boards")
    label = models.CharField(_("name"), max_length=20)
    green_mass_g = models.FloatField(_("mass when cut, g"))
    section_masses_g = models.JSONField(_("sections, wet and oven-dry, g"), default=list)
    oven_dry_mass_g = models.FloatField(_("calculated oven-dry mass, g"))
    made_on = models.DateField(_("cut on"))

    class Meta:
        ordering = ["label"]
        constraints = [models.UniqueConstraint(fields=["stack", "label"], name="sample_board_label_in_stack")]

    def __str__(self) -> str:
        return self.label

    @property
    def provisional(self) -> bool:
        return any(dry is None for _wet, dry in self.section_masses_g)

    @property
    def moisture_when_cut_pct(self) -> float:
        return (self.green_mass_g / self.oven_dry_mass_g - 1) * 100
