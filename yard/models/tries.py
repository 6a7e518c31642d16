from django.db import models


class Tries(models.Model):
    """How often something was tried in the span that ends at `ends_at`. In the database, so that all processes and
    machines count together. `key` is a digest: it tells no address and no token."""

    key = models.CharField(max_length=64, primary_key=True)
    count = models.PositiveIntegerField(default=0)
    ends_at = models.DateTimeField(db_index=True)

    class Meta:
        verbose_name_plural = "tries"

    def __str__(self) -> str:
        return f"{self.count} until {self.ends_at}"
