from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class ReceiptQuerySet(models.QuerySet["Receipt"]):
    def to_sort_out(self) -> "ReceiptQuerySet":
        """What a phone sent and the yard could not place; a person has to say what becomes of it."""
        return self.filter(state=Receipt.State.TO_SORT_OUT)


class Receipt(models.Model):
    """One form sent under a key of the sender's making, and what it was answered.

    Written in the same transaction as the effect, so that the same form sent again has its answer and no second
    effect. `digest` tells whether it really is the same form. `fields` holds what was sent, as [name, value] pairs,
    only while it is to be sorted out or was.
    """

    class State(models.TextChoices):
        APPLIED = "applied", _("applied")
        TO_SORT_OUT = "to_sort_out", _("to sort out")
        SETTLED = "settled", _("sorted out")

    key = models.UUIDField(primary_key=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    path = models.CharField(max_length=400)
    digest = models.CharField(max_length=64)
    state = models.CharField(max_length=12, choices=State, default=State.APPLIED)
    location = models.CharField(max_length=400, blank=True)
    said = models.JSONField(default=list, blank=True)
    fields = models.JSONField(default=list, blank=True)
    taken_at = models.DateTimeField()
    received_at = models.DateTimeField(auto_now_add=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    settled_how = models.CharField(max_length=200, blank=True)

    objects = ReceiptQuerySet.as_manager()

    class Meta:
        ordering = ["-received_at", "key"]
        indexes = [
            models.Index(fields=["received_at"], condition=models.Q(state="to_sort_out"), name="receipt_to_sort_out")
        ]

    def __str__(self) -> str:
        return f"{self.get_state_display()}: {self.path}"
