"""Papers that go out with wood: delivery notes and dry certificates, and the links by which strangers may see them."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

NEVER_DELETED = "A paper that went out is withdrawn, never deleted."


class PaperKind(models.TextChoices):
    DELIVERY_NOTE = "delivery_note", _("delivery note")
    DRY_CERTIFICATE = "dry_certificate", _("dry certificate")


class PaperSeries(models.Model):
    """The last number given out for a kind. Locked while the next one is taken, so that none is missed or doubled."""

    kind = models.CharField(max_length=16, choices=PaperKind, primary_key=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.kind} {self.last}"


class PaperQuerySet(models.QuerySet["Paper"]):
    def saying(self, words: str) -> "PaperQuerySet":
        """Those that hold every word: in number, kind, buyer, species, tag or note."""
        found = self
        for word in words.split():
            found = found.filter(search__icontains=word)
        return found

    def delete(self) -> Any:
        raise models.ProtectedError(NEVER_DELETED, set(self))


class Paper(models.Model):
    """What was stated, frozen when it was issued: whatever changes in the yard later, `facts` stays (its fields are
    told in kilnruns/papers/facts.py). A wrong paper is withdrawn with a reason, never altered and never deleted."""

    kind = models.CharField(_("kind"), max_length=16, choices=PaperKind)
    number = models.PositiveIntegerField(_("number"))
    facts = models.JSONField()
    search = models.TextField()
    charge = models.ForeignKey("kilnruns.Charge", models.PROTECT, null=True, blank=True, related_name="papers")
    stacks = models.ManyToManyField("yard.Stack", related_name="papers")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    withdrawn_why = models.CharField(_("why it is withdrawn"), max_length=200, blank=True)

    objects = PaperQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["kind", "number"], name="paper_number_once_in_its_kind"),
            models.CheckConstraint(condition=Q(number__gte=1), name="paper_numbers_begin_at_1"),
            models.CheckConstraint(
                condition=Q(withdrawn_at=None) | ~Q(withdrawn_why=""), name="withdrawn_paper_has_a_reason"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("paper", args=[self.pk])

    def delete(self, *args: Any, **kwargs: Any) -> Any:
        raise models.ProtectedError(NEVER_DELETED, {self})

    @property
    def live_link(self) -> "PaperLink | None":
        """The link that opens it now; from rows at hand where they were fetched before."""
        return next((link for link in self.links.all() if link.ended_at is None), None)


class PaperLink(models.Model):
    """An address at which anyone who has it sees one paper.

    The token is kept in the clear, since it must be printed again with the paper; whoever can read this table reads the
    facts beside it in any case. It is looked up by its hash, so that the time an answer takes tells nothing of it. A
    link that was ended never opens again; another may be made.
    """

    paper = models.ForeignKey(Paper, models.PROTECT, related_name="links")
    token = models.CharField(max_length=30)
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["paper"], condition=Q(ended_at=None), name="paper_has_one_open_link")
        ]

    def __str__(self) -> str:
        return f"link of {self.paper_id}"

    @property
    def is_open(self) -> bool:
        return self.ended_at is None
