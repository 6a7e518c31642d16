"""Sensors that tell of a kiln by themselves: devices with a token, what each measures, and what they sent."""

from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


class Quantity(models.TextChoices):
    """What can be measured; the unit is in the name."""

    DRY_BULB = "dry_bulb_c", _("dry bulb, °C")
    WET_BULB = "wet_bulb_c", _("wet bulb, °C")
    HUMIDITY = "humidity_pct", _("relative humidity, %")
    WOOD_RESISTANCE = "wood_megohm", _("resistance between pins in the wood, MΩ")
    WOOD_TEMPERATURE = "wood_c", _("wood temperature, °C")
    WOOD_MOISTURE = "wood_pct", _("wood moisture, %")
    POWER = "power_kw", _("power, kW")
    ENERGY = "energy_kwh", _("power meter, kWh")


class SensorDevice(models.Model):
    """A small computer with sensors in a kiln. Its token is kept as a hash; a device shut out stays for its history.

    `told` counts its readings by fate: kept, doubled, late, ahead, out_of_range, garbled.
    """

    kiln = models.ForeignKey("kilnruns.Kiln", models.PROTECT, related_name="devices")
    name = models.CharField(_("name"), max_length=60)
    key = models.CharField(max_length=12, unique=True)
    secret_hash = models.CharField(max_length=64)
    by_mqtt = models.BooleanField(_("also listen to it by MQTT"), default=False)
    silent_after_minutes = models.PositiveIntegerField(_("silent when nothing comes for, minutes"), default=30)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    shut_out_at = models.DateTimeField(null=True, blank=True)
    heard_at = models.DateTimeField(null=True, blank=True)
    kept = models.PositiveBigIntegerField(default=0)
    doubled = models.PositiveBigIntegerField(default=0)
    late = models.PositiveBigIntegerField(default=0)
    ahead = models.PositiveBigIntegerField(default=0)
    out_of_range = models.PositiveBigIntegerField(default=0)
    garbled = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["kiln", "name"], name="device_name_in_kiln")]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("sensor", args=[self.pk])

    def is_silent(self, at: datetime) -> bool:
        """Whether it has been heard but no more for its own limit; one never heard is not silent but not set up."""
        if self.shut_out_at or self.heard_at is None:
            return False
        return at - self.heard_at > timedelta(minutes=self.silent_after_minutes)

    @property
    def silent(self) -> bool:
        return self.is_silent(timezone.now())


class SensorSeries(models.Model):
    """One quantity of one device; `probe` tells several of a kind apart. The last value stands here for lists."""

    device = models.ForeignKey(SensorDevice, models.CASCADE, related_name="series")
    quantity = models.CharField(max_length=16, choices=Quantity)
    probe = models.CharField(max_length=12, blank=True)
    last_second = models.BigIntegerField(null=True, blank=True)
    last_value = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["quantity", "probe"]
        constraints = [models.UniqueConstraint(fields=["device", "quantity", "probe"], name="series_once_in_a_device")]

    def __str__(self) -> str:
        return f"{self.quantity} {self.probe}".strip()

    @property
    def last_at(self) -> datetime | None:
        return None if self.last_second is None else datetime.fromtimestamp(self.last_second, tz=UTC)


class SensorReading(models.Model):
    """A value as it came, kept for a few days. Seconds since 1970 and no date: a quarter of the space on SQLite."""

    series = models.ForeignKey(SensorSeries, models.CASCADE, related_name="readings", db_index=False)
    second = models.BigIntegerField()
    value = models.FloatField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["series", "second"], name="reading_once_a_second")]

    def __str__(self) -> str:
        return f"{self.value:g} at {self.second}"


class SensorMean(models.Model):
    """What is kept of older readings: mean, extremes and number over `minutes` from `second` on."""

    series = models.ForeignKey(SensorSeries, models.CASCADE, related_name="means", db_index=False)
    minutes = models.PositiveSmallIntegerField()
    second = models.BigIntegerField()
    count = models.PositiveIntegerField()
    mean = models.FloatField()
    low = models.FloatField()
    high = models.FloatField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["series", "minutes", "second"], name="mean_once_a_span")]

    def __str__(self) -> str:
        return f"{self.mean:g} from {self.second}"
