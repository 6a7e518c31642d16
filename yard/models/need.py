from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _


class Purpose(models.TextChoices):
    """What the wood is for, which says how dry it shall be; OTHER has its moisture given."""

    FURNITURE = "furniture", _("furniture")
    FLOOR = "floor", _("floor")
    JOINERY = "joinery", _("joinery")
    OUTDOOR = "outdoor", _("outdoors")
    FRAMING = "framing", _("framing")
    OTHER = "other", _("something else")


class Importance(models.IntegerChoices):
    LOW = 1, _("can wait")
    USUAL = 2, _("usual")
    HIGH = 3, _("must not be late")


class Unit(models.TextChoices):
    PIECES = "pieces", _("pieces")
    METRES = "m", _("m")
    SQUARE_METRES = "m2", _("m²")
    CUBIC_METRES = "m3", _("m³")


class NeedQuerySet(models.QuerySet["Need"]):
    def open(self) -> "NeedQuerySet":
        return self.filter(met_at=None)

    def with_lines(self) -> "NeedQuerySet":
        """With lines, their woods and what is reserved for them, of which stacks: four more queries."""
        return self.prefetch_related("lines__species", "lines__reservations__stack")


class Need(models.Model):
    """Wood that a project wants by a day, in lines. `promised_on` was told to whoever waits, with its chance then.
    `room_c` and `room_humidity_pct`: the air that the wood will live in, where somebody gave it."""

    name = models.CharField(_("for whom or what"), max_length=120)
    use = models.CharField(_("what it is for"), max_length=10, choices=Purpose, default=Purpose.OTHER)
    target_pct = models.FloatField(_("moisture, %"), default=8)
    room_c = models.FloatField(_("room's temperature, °C"), null=True, blank=True)
    room_humidity_pct = models.FloatField(_("room's humidity, %"), null=True, blank=True)
    wanted_by = models.DateField(_("wanted by"))
    importance = models.PositiveSmallIntegerField(_("how much it matters"), choices=Importance, default=2)
    note = models.CharField(_("note"), max_length=200, blank=True)
    promised_on = models.DateField(_("promised for"), null=True, blank=True)
    promised_chance = models.FloatField(_("its chance when promised"), null=True, blank=True)
    promised_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)
    met_at = models.DateTimeField(null=True, blank=True)

    objects = NeedQuerySet.as_manager()

    class Meta:
        ordering = ["wanted_by", "pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def volume_m3(self) -> float:
        """Of all lines; their rows are best at hand."""
        return sum(line.volume_m3 for line in self.lines.all())


class NeedLine(models.Model):
    """So much of one finished size, of any of its species. Without length, or width, that is random.

    Pieces have both, metres a width. `volume_m3` is of finished wood, or as given where the quantity is in m³.
    """

    need = models.ForeignKey(Need, models.CASCADE, related_name="lines")
    species = models.ManyToManyField("yard.Species", related_name="need_lines", verbose_name=_("species"))
    thickness_mm = models.FloatField(_("finished thickness, mm"))
    width_mm = models.PositiveIntegerField(_("finished width, mm"), null=True, blank=True)
    length_mm = models.PositiveIntegerField(_("finished length, mm"), null=True, blank=True)
    quantity = models.FloatField(_("quantity"))
    unit = models.CharField(_("unit"), max_length=6, choices=Unit, default=Unit.CUBIC_METRES)

    class Meta:
        ordering = ["pk"]
        constraints = [models.CheckConstraint(condition=models.Q(quantity__gt=0), name="need_line_has_quantity")]

    def __str__(self) -> str:
        return f"{self.quantity:g} {self.unit} of {self.thickness_mm:g} mm"

    @property
    def volume_m3(self) -> float:
        if self.unit == Unit.PIECES:
            return self.quantity * (self.length_mm or 0) * (self.width_mm or 0) * self.thickness_mm / 1e9
        if self.unit == Unit.METRES:
            return self.quantity * (self.width_mm or 0) * self.thickness_mm / 1e6
        return self.quantity * (self.thickness_mm / 1000 if self.unit == Unit.SQUARE_METRES else 1)


class Reservation(models.Model):
    """A stack, or one board of it with a tag of its own, is kept for a line: `volume_m3` of its green volume.

    `sawn_for`: how much of the line, in its unit, was sawn to size in it, 0 where it was sawn for it in random widths;
    None for wood that was not sawn for it.
    """

    line = models.ForeignKey(NeedLine, models.CASCADE, related_name="reservations")
    stack = models.ForeignKey("yard.Stack", models.CASCADE, related_name="reservations")
    board = models.ForeignKey("yard.Board", models.CASCADE, null=True, blank=True, related_name="reservations")
    volume_m3 = models.FloatField(_("volume, m³"))
    sawn_for = models.FloatField(null=True, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(volume_m3__gt=0), name="reservation_has_volume"),
            models.UniqueConstraint(fields=["line", "stack"], condition=models.Q(board=None), name="reserved_once"),
        ]

    def __str__(self) -> str:
        return f"{self.volume_m3:g} m³ of {self.stack_id} for {self.line_id}"
