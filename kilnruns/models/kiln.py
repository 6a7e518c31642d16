from datetime import date
from typing import Any

from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _


class Loading(models.TextChoices):
    BY_HAND = "hand", _("by hand, board by board")
    BY_PACK = "pack", _("by pack, with a forklift")


class Kiln(models.Model):
    """A drying chamber. Sizes are the stacking space: plenum, baffles and door clearance already taken off."""

    place = models.OneToOneField("yard.Place", models.PROTECT, related_name="kiln")
    loading = models.CharField(_("loading"), max_length=4, choices=Loading, default=Loading.BY_HAND)
    length_mm = models.PositiveIntegerField(_("stacking length, mm"))
    width_mm = models.PositiveIntegerField(_("stacking width, mm"))
    height_mm = models.PositiveIntegerField(_("stacking height, mm"))
    sticker_mm = models.FloatField(_("stickers, mm"), default=20)
    longest_board_mm = models.PositiveIntegerField(_("longest board through the door, mm"))
    largest_air_m3 = models.FloatField(_("largest air volume of its drying unit, m³"), null=True, blank=True)
    blow_length_mm = models.PositiveIntegerField(_("how far its air blows, mm"), null=True, blank=True)
    max_temperature_c = models.FloatField(_("highest temperature, °C"), default=60)
    heater_kw = models.FloatField(_("heater, kW"))
    heater_phases = models.PositiveSmallIntegerField(_("heater steps (phases)"), default=1)
    fan_kw = models.FloatField(_("fans, kW"), default=0.25)
    wall_u_w_m2k = models.FloatField(_("heat through the walls, W/m²K"), default=0.5)
    leak_per_h = models.FloatField(_("air changes an hour with vents shut"), default=0.3)
    humidifies = models.BooleanField(_("can add moisture (spray or steam)"), default=False)
    may_split = models.BooleanField(_("a stack may be loaded in part"), default=True)
    cost_per_day = models.FloatField(_("cost of a day in use, without energy"), default=5)
    price_per_kwh = models.FloatField(_("price of a kWh"), default=0.3)
    trusted = models.BooleanField(_("plan it as any other, though no run of it is finished"), default=False)
    retired = models.BooleanField(_("no longer used"), default=False)

    class Meta:
        ordering = ["place__name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(length_mm__gt=0, width_mm__gt=0, height_mm__gt=0), name="kiln_has_space"
            ),
            models.CheckConstraint(condition=models.Q(heater_kw__gt=0), name="kiln_has_heater"),
            models.CheckConstraint(
                condition=models.Q(largest_air_m3=None) | models.Q(largest_air_m3__gt=0), name="kiln_unit_serves_air"
            ),
            models.CheckConstraint(
                condition=models.Q(blow_length_mm=None) | models.Q(blow_length_mm__gt=0), name="kiln_air_blows"
            ),
        ]

    def __str__(self) -> str:
        return self.place.name

    def get_absolute_url(self) -> str:
        return reverse("kiln", args=[self.pk])

    @property
    def has_finished_run(self) -> bool:
        """Whether a run has come to its end: without one nobody knows how the kiln dries."""
        done: bool = self.charges.filter(started_at__isnull=False, unloaded_at__isnull=False).exists()
        return done

    @property
    def is_by_hand(self) -> bool:
        return self.loading == Loading.BY_HAND


class Closure(models.Model):
    """Days on which a kiln takes no charge: lent, service, holiday. Both days included."""

    kiln = models.ForeignKey(Kiln, models.CASCADE, related_name="closures")
    first_day = models.DateField(_("first day"))
    last_day = models.DateField(_("last day"))
    reason = models.CharField(_("reason"), max_length=120, blank=True)

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=models.Q(last_day__gte=models.F("first_day")), name="closure_runs_forward")
        ]

    def __str__(self) -> str:
        return f"{self.first_day} to {self.last_day}"

    def in_the_way(self) -> list[Any]:
        """Charges, planned or running, that take the kiln on one of these days."""
        ahead = self.kiln.charges.ahead().filter(start_on__lte=self.last_day)
        return [charge for charge in ahead if charge.ends_on > self.first_day]

    def covers(self, day: date) -> bool:
        return self.first_day <= day <= self.last_day
