from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import models


class Change(models.Model):
    """What one act of a person changed, row by row: never edited, never deleted.

    `kind` is one of `yard.changes.kinds`. `at` is when it was done, `made_at` when the yard heard of it. `rows`: of
    each row that it wrote `of` (the table's label), `pk`, `was` and `now`: what its columns were and became, plain;
    None where there was no row. Of a changed row both hold the columns that changed alone, and `held` those that an
    undo must find as they are. `undoes`: it took that one back.
    """

    UNDO_WITHIN = timedelta(hours=24)

    kind = models.CharField(max_length=24)
    at = models.DateTimeField()
    made_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    rows = models.JSONField(default=list)
    undoes = models.OneToOneField("self", models.PROTECT, null=True, related_name="undone_by")

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["by", "-id"], name="change_by_person")]

    def __str__(self) -> str:
        return f"{self.kind} {self.at:%Y-%m-%d}"

    @property
    def is_undone(self) -> bool:
        return hasattr(self, "undone_by")

    @property
    def original(self) -> "Change":
        """The act itself, of one that was taken back and done again, maybe often; a query each time."""
        return self.undoes.original if self.undoes is not None else self

    def keys_of(self, label: str) -> list[Any]:
        """Of the rows of one table that it wrote."""
        return [row["pk"] for row in self.rows if row["of"] == label]


class ChangeAbout(models.Model):
    """Whose history a change stands in: a stack, need, charge, kiln, place or species by its key, or the mill."""

    change = models.ForeignKey(Change, models.CASCADE, related_name="about")
    what = models.CharField(max_length=12)
    key = models.PositiveBigIntegerField()

    class Meta:
        indexes = [models.Index(fields=["what", "key", "-change"], name="change_about")]
        constraints = [models.UniqueConstraint(fields=["change", "what", "key"], name="change_about_once")]

    def __str__(self) -> str:
        return f"{self.change_id} about {self.what} {self.key}"
