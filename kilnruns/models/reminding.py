"""How a person is reminded of what is due: wishes, devices that take web push, and what the calendar has told."""

from datetime import datetime
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Reminders(models.Model):
    """A person's wishes; no row means none. The calendar's token is kept as a hash, "" while there is no address."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="reminders")
    calendar_hash = models.CharField(max_length=64, blank=True)
    calendar_made_at = models.DateTimeField(null=True, blank=True)
    hour = models.PositiveSmallIntegerField(_("remind me each day at"), default=7)
    alarms = models.BooleanField(_("the calendar rings at that hour too"), default=False)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["calendar_hash"], condition=~Q(calendar_hash=""), name="calendar_token_once"
            ),
            models.CheckConstraint(condition=Q(hour__lte=23), name="reminded_at_an_hour_of_the_day"),
        ]

    def __str__(self) -> str:
        return f"reminders of {self.person_id}"

    @classmethod
    def of(cls, person: Any) -> "Reminders":
        """The person's row, or one with the usual wishes that is not kept yet."""
        return cls.objects.filter(person=person).first() or cls(person=person)


class PushDeviceQuerySet(models.QuerySet["PushDevice"]):
    def awake(self, at: datetime) -> "PushDeviceQuerySet":
        """Of people who may sign in, and not resting after a failure."""
        return self.filter(Q(rest_until=None) | Q(rest_until__lte=at), person__is_active=True)


class PushDevice(models.Model):
    """A browser that takes web push: where it is reached and its keys (RFC 8291), as it gave them itself.

    `reminded_on` is the yard's day of its last daily reminder, `told` when it was told of what needs action at once,
    by its key. After a failure it rests until `rest_until`.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="push_devices")
    endpoint = models.CharField(max_length=1000, unique=True)
    p256dh = models.CharField(max_length=100)
    auth = models.CharField(max_length=40)
    site = models.CharField(max_length=200)
    is_phone = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    reminded_on = models.DateField(null=True, blank=True)
    told = models.JSONField(default=dict, blank=True)
    failed = models.PositiveSmallIntegerField(default=0)
    rest_until = models.DateTimeField(null=True, blank=True)

    objects = PushDeviceQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]

    def __str__(self) -> str:
        return f"device {self.pk} of {self.person_id}"


class CalendarEntry(models.Model):
    """What calendars were told of a thing that is due, so that they see what has changed (RFC 5545, SEQUENCE)."""

    key = models.CharField(max_length=40, unique=True)
    uid = models.UUIDField(default=uuid4, unique=True, editable=False)
    digest = models.CharField(max_length=64)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return f"{self.key}, {self.sequence}"
