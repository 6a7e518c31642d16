"""Drying groups as an owner has changed them; a species without a row stays in its own group of the book."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from yard.models import DryingGroup


class OwnGroup(models.Model):
    """A group that the owner made. `base` is the group of the book whose schedule stands in where a wood has none."""

    name = models.CharField(_("name"), max_length=40, unique=True)
    base = models.CharField(_("schedule to stand in"), max_length=20, choices=DryingGroup)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class GroupMember(models.Model):
    """A species that an owner moved: into a group of the book, or into one of their own."""

    species = models.OneToOneField("yard.Species", models.CASCADE, related_name="+")
    book = models.CharField(max_length=20, choices=DryingGroup, blank=True)
    own = models.ForeignKey(OwnGroup, models.CASCADE, null=True, blank=True, related_name="members")

    class Meta:
        ordering = ["species__name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(book="", own__isnull=False) | (~Q(book="") & Q(own=None)), name="member_of_one_group"
            )
        ]

    def __str__(self) -> str:
        return f"{self.species}: {self.own or self.get_book_display()}"
