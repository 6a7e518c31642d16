"""A stack: boards of one species and one thickness, laid with stickers between, in one place."""

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.db import connections, models
from django.db.models.functions import Coalesce
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from yard.models import keptwords
from yard.models.listed import DRIED, DRYING, STANDING, THICKNESSES, Forecast, kilns, read_since
from yard.models.toldfield import ToldField

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
        return self.standing().outside_kilns().filter(kiln_dried_on=None)

    def outside_kilns(self) -> "StackQuerySet":
        """Without a join: places read first and their stacks by place, as SQLite may then do, are all of a yard."""
        return self.exclude(place__in=kilns())

    def ready(self, on: date) -> "StackQuerySet":
        """Drying stacks whose median forecast is at the kiln's entry moisture by that day."""
        return self.drying().filter(forecast=Forecast.DATED, ready_on__lte=on)

    def due_reading(self, on: date) -> "StackQuerySet":
        """Drying stacks without a reading in the last READING_DUE_DAYS days, counted from stacking at first."""
        before = on - timedelta(days=READING_DUE_DAYS)
        unread = models.Q(known_on=None) | models.Q(known_on__lte=before)
        return self.drying().filter(unread, ~read_since(before), cut_on__lte=before)

    def not_due_reading(self, on: date) -> "StackQuerySet":
        """All the others."""
        before = on - timedelta(days=READING_DUE_DAYS)
        outdoors = models.Q(used_at=None, joined_into=None, kiln_dried_on=None) & ~models.Q(place__in=kilns())
        read = models.Q(known_on__gt=before) | models.Q(read_since(before))
        return self.filter(models.Q(cut_on__gt=before) | read | ~outdoors)

    def thicknesses_mm(self) -> list[float]:
        """Of all but joined stacks, each once, from the thinnest on: a step down the index for each, not a row."""
        with connections[self.db].cursor() as cursor:
            cursor.execute(THICKNESSES)
            return [size for (size,) in cursor.fetchall()]

    def note_forecasts(self) -> int:
        """Write into these rows what the lists read of their forecasts, or that there is none."""
        kept = self.model._meta.apps.get_model("yard", "Outlook").objects.filter(stack=models.OuterRef("pk"))
        said = models.Case(
            models.When(ready_p50__isnull=False, then=Forecast.DATED.value),
            models.When(never=True, then=Forecast.NEVER.value),
            default=Forecast.LATE.value,
            output_field=models.PositiveSmallIntegerField(),
        )
        told = models.Subquery(kept.annotate(said=said).values("said")[:1])
        return self.update(
            forecast=Coalesce(told, Forecast.NONE.value),
            ready_on=models.Subquery(kept.values("ready_p50")[:1]),
            known_on=models.Subquery(kept.values("as_of")[:1]),
            loss_pct_per_day=models.Subquery(kept.values("loss_pct_per_day")[:1]),
        )

    def with_green_m3(self) -> "StackQuerySet":
        """Annotated with `green_m3`, the volume of the tally, without a query for its lines."""
        lines = self.model._meta.apps.get_model("yard", "TallyLine").objects.filter(stack=models.OuterRef("pk"))
        area_m2 = models.Sum(models.F("length_mm") * models.F("width_mm") * models.F("count") / 1e6)
        # of each row by itself: joined and grouped, all the columns of all the rows would be sorted for it
        tallied = models.Subquery(lines.order_by().values("stack").annotate(m2=area_m2).values("m2"))
        volume = Coalesce(tallied, 0.0) * models.F("thickness_mm") / 1000
        return self.annotate(green_m3=models.ExpressionWrapper(volume, output_field=models.FloatField()))

    def for_lists(self) -> "StackQuerySet":
        """With all that a row of a list shows, in a fixed number of queries."""
        return self.select_related("species", "place", "outlook").prefetch_related("lines")


class Stack(models.Model):
    """`code` is its live tag's code. `kiln_entry_pct` is when it may go into the kiln, `target_pct` what the kiln
    shall bring it to; both in % of oven-dry mass. Costs are in the mill's currency a m³ as tallied, empty where the
    mill's own hold; `round_m3_per_m3` is the round wood that a m³ of it was sawn from.

    DERIVED columns are copies out of its `Outlook`, so that lists of a large yard are read off one index; whatever
    writes outlooks writes them (`note_forecasts`)."""

    DERIVED = frozenset({"forecast", "ready_on", "known_on", "loss_pct_per_day"})

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
    set_aside_for = ToldField(_("set aside for"), tell=keptwords.set_aside, max_length=120, blank=True)
    kiln_dried_on = models.DateField(_("kiln-dried on"), null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")
    used_at = models.DateTimeField(null=True, blank=True)
    used_for = models.CharField(_("used for"), max_length=120, blank=True)
    left_as = models.CharField(_("what became of it"), max_length=8, choices=LeftAs, blank=True)
    sold_for = models.FloatField(_("sold for"), null=True, blank=True)
    # their indices are those below, of the few that are split or joined: of one with all rows SQLite thinks that it
    # finds few
    split_from = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="parts", db_index=False)
    joined_into = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="joined", db_index=False
    )

    forecast = models.PositiveSmallIntegerField(default=Forecast.NONE, editable=False)
    ready_on = models.DateField(null=True, editable=False)
    known_on = models.DateField(null=True, editable=False)
    loss_pct_per_day = models.FloatField(null=True, editable=False)

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
        indexes = [
            models.Index(fields=["code"], condition=STANDING, name="stack_standing_code"),
            models.Index(
                fields=["forecast", "ready_on", "code", "place", "set_aside_for"],
                condition=DRYING,
                name="stack_by_readiness",
            ),
            models.Index(fields=["known_on", "code"], condition=DRYING, name="stack_by_last_known"),
            models.Index(fields=["-loss_pct_per_day"], condition=DRYING, name="stack_by_loss"),
            models.Index(fields=["place", "code"], condition=DRYING, name="stack_by_place"),
            models.Index(fields=["code"], condition=DRIED, name="stack_dried"),
            models.Index(fields=["joined_into"], condition=models.Q(joined_into__isnull=False), name="stack_joined"),
            models.Index(fields=["split_from"], condition=models.Q(split_from__isnull=False), name="stack_split"),
            models.Index(fields=["thickness_mm"], condition=models.Q(joined_into=None), name="stack_thickness"),
        ]

    def __str__(self) -> str:
        return f"{self.species} {self.thickness_mm:g} mm {self.code}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Without what is derived: that may have been written since this row was read."""
        if not self._state.adding and not args and kwargs.get("update_fields") is None:
            fields = self._meta.concrete_fields
            names = [one.name for one in fields if not one.primary_key and one.name not in self.DERIVED]
            kwargs["update_fields"] = names
        super().save(*args, **kwargs)

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
