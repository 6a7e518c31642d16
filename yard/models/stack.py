"""A stack: boards of one species and one thickness, laid with stickers between, in one place."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

READING_DUE_DAYS = 28


class WoodPart(models.TextChoices):
    MIXED = "mixed", _("heartwood and sapwood")
    HEARTWOOD = "heartwood", _("heartwood")
    SAPWOOD = "sapwood", _("sapwood")


class LeftAs(models.TextChoices):
    """What became of wood that left the yard."""

    OWN_USE = "own_use", _("own work")
    SOLD = "sold", _("sold")
    FIREWOOD = "firewood", _("firewood or waste")
    LOST = "lost", _("lost, stolen or given away")


WASTED = (LeftAs.FIREWOOD, LeftAs.LOST)
"""As these, wood served nobody who wanted it."""


class StackQuerySet(models.QuerySet["Stack"]):
    def standing(self) -> "StackQuerySet":
        """Still in the yard or a kiln: neither used up nor joined into another."""
        return self.filter(used_at=None, joined_into=None)

    def drying(self) -> "StackQuerySet":
        """Standing outdoors, on the way to the kiln: not in a kiln, not dried in one."""
        return self.standing().exclude(place__kind="kiln").filter(kiln_dried_on=None)

    def ready(self, on: date) -> "StackQuerySet":
        """Drying stacks whose median forecast is at the kiln's entry moisture by that day."""
        return self.drying().filter(outlook__ready_p50__lte=on)

    def due_reading(self, on: date) -> "StackQuerySet":
        """Drying stacks without a reading in the last READING_DUE_DAYS days, counted from stacking at first."""
        before = on - timedelta(days=READING_DUE_DAYS)
        recent = models.Exists(
            self.model._meta.apps.get_model("yard", "Reading").objects.filter(
                stack=models.OuterRef("pk"), voided_at=None, taken_at__date__gt=before
            )
        )
        return self.drying().filter(~recent, cut_on__lte=before)

    def with_green_m3(self) -> "StackQuerySet":
        """Annotated with `green_m3`, the volume of the tally, without a query for its lines."""
        area_m2 = models.Sum(
            models.F("lines__length_mm") * models.F("lines__width_mm") * models.F("lines__count") / 1e6
        )
        volume = Coalesce(area_m2, 0.0) * models.F("thickness_mm") / 1000
        return self.annotate(green_m3=models.ExpressionWrapper(volume, output_field=models.FloatField()))

    def for_lists(self) -> "StackQuerySet":
        """With all that a row of a list shows, in a fixed number of queries."""
        return self.select_related("species", "place", "outlook").prefetch_related("lines")


class Stack(models.Model):
    """`code` is its live tag's code. `kiln_entry_pct` is when it may go into the kiln, `target_pct` what the kiln
    shall bring it to; both in % of oven-dry mass. Costs are in the mill's currency a m³ as tallied, empty where the
    mill's own hold; `round_m3_per_m3` is the round wood that a m³ of it was sawn from."""

    code = models.CharField(_("tag"), max_length=10, unique=True)
    species = models.ForeignKey("yard.Species", models.PROTECT, related_name="stacks", verbose_name=_("species"))
    place = models.ForeignKey("yard.Place", models.PROTECT, related_name="stacks", verbose_name=_("place"))
    thickness_mm = models.FloatField(_("green thickness, mm"))
    sticker_mm = models.FloatField(_("stickers, mm"), default=25)
    cut_on = models.DateField(_("sawn on"))
    wood_part = models.CharField(_("heartwood or sapwood"), max_length=9, choices=WoodPart, default=WoodPart.MIXED)
    initial_moisture_pct = models.FloatField(_("moisture when stacked, %"), null=True, blank=True)
    kiln_entry_pct = models.FloatField(_("ready for the kiln at, %"), default=20)
    target_pct = models.FloatField(_("target, %"), default=8)
    pack_length_mm = models.PositiveIntegerField(_("pack length, mm"), null=True, blank=True)
    pack_width_mm = models.PositiveIntegerField(_("pack width, mm"), null=True, blank=True)
    pack_height_mm = models.PositiveIntegerField(_("pack height, mm"), null=True, blank=True)
    value_per_m3 = models.FloatField(_("value when dry, per m³"), null=True, blank=True)
    log_per_m3 = models.FloatField(_("logs cost, per m³"), null=True, blank=True)
    sawing_per_m3 = models.FloatField(_("sawing cost, per m³"), null=True, blank=True)
    stacking_per_m3 = models.FloatField(_("stacking cost, per m³"), null=True, blank=True)
    round_m3_per_m3 = models.FloatField(_("round wood of a m³ sawn, m³"), null=True, blank=True)
    note = models.TextField(_("note"), blank=True)
    set_aside_for = models.CharField(_("set aside for"), max_length=120, blank=True)
    kiln_dried_on = models.DateField(_("kiln-dried on"), null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    used_at = models.DateTimeField(null=True, blank=True)
    used_for = models.CharField(_("used for"), max_length=120, blank=True)
    left_as = models.CharField(_("what became of it"), max_length=8, choices=LeftAs, blank=True)
    sold_for = models.FloatField(_("sold for"), null=True, blank=True)
    split_from = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="parts")
    joined_into = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="joined")

    objects = StackQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(thickness_mm__gte=15, thickness_mm__lte=100), name="stack_thickness_15_to_100_mm"
            ),
            models.CheckConstraint(
                condition=models.Q(kiln_entry_pct__gte=models.F("target_pct")), name="stack_enters_kiln_above_target"
            ),
        ]
        indexes = [models.Index(fields=["used_at", "joined_into"], name="stack_standing")]

    def __str__(self) -> str:
        return f"{self.species} {self.thickness_mm:g} mm {self.code}"

    def get_absolute_url(self) -> str:
        return reverse("stack", args=[self.code])

    @property
    def is_standing(self) -> bool:
        return self.used_at is None and self.joined_into_id is None

    @property
    def at_last(self) -> "Stack":
        """Itself, or the stack that its boards were joined into, and so on."""
        last = self
        while last.joined_into is not None:
            last = last.joined_into
        return last

    @property
    def board_count(self) -> int:
        return sum(line.count for line in self.lines.all())

    @property
    def volume_m3(self) -> float:
        """Green volume of the boards, from the tally."""
        return sum(line.area_m2 for line in self.lines.all()) * self.thickness_mm / 1000


class TallyLine(models.Model):
    """So many boards of one length and width."""

    stack = models.ForeignKey(Stack, models.CASCADE, related_name="lines")
    length_mm = models.PositiveIntegerField(_("length, mm"))
    width_mm = models.PositiveIntegerField(_("width, mm"))
    count = models.PositiveIntegerField(_("boards"))

    class Meta:
        ordering = ["-length_mm", "-width_mm", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(length_mm__gt=0, width_mm__gt=0, count__gt=0), name="tally_line_is_real"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.length_mm} x {self.width_mm}"

    @property
    def area_m2(self) -> float:
        return self.length_mm * self.width_mm * self.count / 1e6


class Stay(models.Model):
    """A stack stands in a place from `since` until its next stay."""

    stack = models.ForeignKey(Stack, models.CASCADE, related_name="stays")
    place = models.ForeignKey("yard.Place", models.PROTECT, related_name="stays")
    since = models.DateTimeField()

    class Meta:
        ordering = ["since", "pk"]

    def __str__(self) -> str:
        return f"{self.place} since {self.since:%Y-%m-%d}"


class Event(models.Model):
    """One line of a stack's history; `details` holds the figures of its kind."""

    class Kind(models.TextChoices):
        STACKED = "stacked", _("stacked")
        MOVED = "moved", _("moved")
        CORRECTED = "corrected", _("corrected")
        SPLIT = "split", _("split")
        JOINED = "joined", _("joined")
        USED = "used", _("used")
        RETAGGED = "retagged", _("new tag")
        READ = "read", _("reading")
        VOIDED = "voided", _("reading voided")
        SET_ASIDE = "set_aside", _("set aside")
        RELEASED = "released", _("released")
        NOTED = "noted", _("note")
        UNDONE = "undone", _("undone")
        REDONE = "redone", _("done again")
        BOARD = "board", _("board tagged")
        SAMPLE = "sample", _("sample board")
        PAPER = "paper", _("paper")

    stack = models.ForeignKey(Stack, models.CASCADE, related_name="events")
    kind = models.CharField(max_length=12, choices=Kind)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    details = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%Y-%m-%d}"


def log(stacks: Iterable[Stack], kind: Event.Kind, *, at: Any, by: Any, **details: Any) -> None:
    """Add one line to the history of each stack."""
    Event.objects.bulk_create(Event(stack=stack, kind=kind, at=at, by=by, details=details) for stack in stacks)
