"""What a person does in the yard, and invitations to it. Owners are those whom the sign-in calls staff."""

from datetime import datetime

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    """From most to least: an operator decides on kilns and plans, a yard hand records, a guest only looks."""

    OPERATOR = "operator", _("kiln operator: plans, runs kilns, records")
    HAND = "hand", _("yard hand: records, tags, moves, loads")
    GUEST = "guest", _("guest: looks, changes nothing")


class UnitSystem(models.TextChoices):
    """In which units figures are shown and typed; the database is in SI units whatever somebody chose."""

    METRIC = "metric", _("metric: mm, m³, kg, °C")
    IMPERIAL = "imperial", _("imperial: inches, board feet, lb, °F")


class Person(models.Model):
    """The role of somebody who may sign in, and how they are told things; without a row a kiln operator, as all were
    before there were roles, in the language of their browser."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, models.CASCADE, related_name="person")
    role = models.CharField(_("role"), max_length=8, choices=Role, default=Role.OPERATOR)
    language = models.CharField(_("language"), max_length=8, blank=True)
    units = models.CharField(_("units"), max_length=8, choices=UnitSystem, default=UnitSystem.METRIC)

    def __str__(self) -> str:
        return f"{self.user}: {self.role}"


class Invitation(models.Model):
    """A link that makes one person, once, until it expires. Only the token's hash is kept: it is shown when made."""

    token_hash = models.CharField(max_length=64, unique=True)
    role = models.CharField(_("role"), max_length=8, choices=Role, default=Role.HAND)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    used_at = models.DateTimeField(null=True, blank=True)
    used_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"invitation {self.pk} as {self.role}"

    def is_open(self, at: datetime) -> bool:
        return self.used_at is None and self.withdrawn_at is None and at < self.expires_at
