from django.conf import settings
from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from yard.models import keptwords
from yard.models.toldfield import ToldField


class Why(models.TextChoices):
    """Why a form could not be placed; the words are said to people."""

    USED = "used", _("The stack was used up meanwhile.")
    UNKNOWN = "unknown", _("No stack of this yard bears that tag.")
    TAKEN = "taken", _("Someone else hung that tag on another stack meanwhile.")
    CHANGED = "changed", _("Someone else changed the same meanwhile.")
    FOLLOWS = "follows", _("It goes with something that is still to be sorted out.")
    REFUSED = "refused", _("Where it was to go, it was not accepted.")


class ReceiptQuerySet(models.QuerySet["Receipt"]):
    def to_sort_out(self) -> "ReceiptQuerySet":
        """What a phone sent and the yard could not place; a person has to say what becomes of it."""
        return self.filter(state=Receipt.State.TO_SORT_OUT)


class Receipt(models.Model):
    """One form sent under a key of the sender's making, and what it was answered.

    Written in the same transaction as the effect, so that the same form sent again has its answer and no second
    effect. `digest` tells whether it really is the same form.

    Only while it is to be sorted out or was: `why`; `subject`, the tag's code it was about; `fields` as sent and
    `words` as typed, [name or label, value] pairs; `clock`, notes of a wrong clock; `after`, what it goes with;
    `settled_code`, the stack it went to at last, empty where it was dropped.
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
    settled_how = ToldField(tell=keptwords.settled, max_length=300, blank=True)
    settled_code = models.CharField(max_length=10, blank=True)
    why = models.CharField(max_length=8, choices=Why, blank=True)
    subject = models.CharField(max_length=20, blank=True)
    words = models.JSONField(default=list, blank=True)
    clock = models.JSONField(default=list, blank=True)
    after = models.ForeignKey("self", models.SET_NULL, null=True, blank=True, related_name="followers")

    objects = ReceiptQuerySet.as_manager()

    class Meta:
        ordering = ["-received_at", "key"]
        indexes = [
            models.Index(fields=["received_at"], condition=models.Q(state="to_sort_out"), name="receipt_to_sort_out"),
            models.Index(fields=["user", "subject"], condition=~models.Q(subject=""), name="receipt_by_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.get_state_display()}: {self.path}"

    def get_absolute_url(self) -> str:
        return reverse("sort_out_one", args=[self.key])

    @property
    def went_somewhere(self) -> bool:
        """Whether a person has settled it, and did not drop it: what follows may go there, too."""
        return self.state == self.State.SETTLED and self.location != self.get_absolute_url()
