from datetime import timedelta

from django.conf import settings
from django.db import models

KEPT = timedelta(days=3)


class SentSheet(models.Model):
    """A file sent in by a person, kept between its trial and its taking for KEPT at most. `kind` is the sheet's key."""

    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    kind = models.CharField(max_length=10)
    name = models.CharField(max_length=200)
    content = models.BinaryField()
    sent_at = models.DateTimeField()

    class Meta:
        ordering = ["-sent_at"]

    def __str__(self) -> str:
        return self.name
