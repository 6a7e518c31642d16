"""A stack's particulars, and what the last stack offers for the next."""

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from yard import outlook
from yard.actions.photos import LONGEST_PX, open_picture
from yard.fields.naming import in_order
from yard.fields.numbers import NumberField, PriceField
from yard.forms.sizes import SizeField, ThicknessField
from yard.models import Place, PlaceKind, Species, Stack
from yard.models.woodname import told

FEW_PLACES = 6
PACK = ("pack_length_mm", "pack_width_mm", "pack_height_mm")
OLDEST = date(1950, 1, 1)
OFFERED = (
    "species",
    "thickness_mm",
    "place",
    "cut_on",
    "wood_part",
    "sticker_mm",
    "target_pct",
    "kiln_entry_pct",
    "value_per_m3",
)
"""What the last stack offers for the next; what is this stack's own (note, moisture, tally) starts empty."""

USUAL = ("wood_part", "sticker_mm", "target_pct", "kiln_entry_pct")


class PackSizeField(SizeField):
    """A pack's length, width or height in mm."""

    example = "1200"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(least_mm=100, most_mm=20_000, unit="mm", required=False, **kwargs)


class StackForm(forms.ModelForm):
    """`today` bounds the day of sawing. Fields in the order in which one knows them at the saw."""

    thickness_mm = ThicknessField(label=gettext_lazy("Thickness"), least_mm=15, most_mm=100, unit="mm")
    sticker_mm = NumberField(label=gettext_lazy("Stickers"), unit="mm", min_value=6, max_value=60)
    target_pct = NumberField(label=gettext_lazy("Target out of the kiln"), unit="%", min_value=4, max_value=30)
    kiln_entry_pct = NumberField(
        label=gettext_lazy("Ready for the kiln at"),
        unit="%",
        min_value=4,
        max_value=60,
        help_text=gettext_lazy("Mean moisture at which it may go in; about 20 to 25 after air-drying is usual."),
    )
    initial_moisture_pct = NumberField(
        label=gettext_lazy("Moisture when stacked, if measured"),
        unit="%",
        min_value=5,
        max_value=250,
        required=False,
        help_text=gettext_lazy("Left empty, the species' usual green moisture is taken."),
    )
    value_per_m3 = PriceField(
        label=gettext_lazy("Worth when dry, per %(unit)s"), min_value=0, max_value=100_000, required=False
    )
    pack_length_mm = PackSizeField(label=gettext_lazy("Pack's length"))
    pack_width_mm = PackSizeField(label=gettext_lazy("Pack's width"))
    pack_height_mm = PackSizeField(label=gettext_lazy("Pack's height"))
    photo = forms.FileField(
        label=gettext_lazy("Photo"), required=False, widget=forms.FileInput(attrs={"accept": "image/*"})
    )

    class Meta:
        model = Stack
        fields = [
            "species",
            "thickness_mm",
            "place",
            "cut_on",
            "wood_part",
            "target_pct",
            "kiln_entry_pct",
            "sticker_mm",
            "initial_moisture_pct",
            *PACK,
            "value_per_m3",
            "note",
        ]
        widgets = {
            "cut_on": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "wood_part": forms.RadioSelect,
            "note": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.fields["cut_on"].widget.attrs |= {"max": today.isoformat()}
        self.fields["species"].choices = species_choices()  # type: ignore[attr-defined]
        if self.is_bound and "value_per_m3" not in self.data:
            del self.fields["value_per_m3"]  # who may not see what it is worth is not asked, and leaves it as it is
        self._offer_places()

    def _offer_places(self) -> None:
        """Few places as buttons to tap, many as a list; a stack's place is moved, not corrected."""
        if self.instance.pk:
            del self.fields["place"]
            del self.fields["photo"]
            return
        field = self.fields["place"]
        places = sorted(Place.objects.outdoors(), key=lambda place: place.kind == PlaceKind.CLOSED_STORE)
        choices = [(place.pk, place.name) for place in places]
        few = len(places) <= FEW_PLACES
        field.queryset = Place.objects.outdoors()  # type: ignore[attr-defined]
        field.widget = forms.RadioSelect() if few else forms.Select()
        field.choices = choices if few else [("", "---------"), *choices]  # type: ignore[attr-defined]
        if len(places) == 1 and not self.initial.get("place"):
            self.initial["place"] = places[0].pk

    def clean_cut_on(self) -> date:
        day = self.cleaned_data["cut_on"]
        if day > self.today:
            raise ValidationError(_("That day is still to come; when was it sawn?"))
        if day < OLDEST:
            raise ValidationError(_("That is too long ago; is the year right?"))
        return day

    def clean_photo(self) -> Any:
        """Looked through now, so that a picture that can't be read is refused before anything is kept."""
        photo = self.cleaned_data["photo"]
        if photo:
            open_picture(photo, LONGEST_PX)
            photo.seek(0)
        return photo

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        entry, target = cleaned.get("kiln_entry_pct"), cleaned.get("target_pct")
        if entry is not None and target is not None and entry < target:
            self.add_error("kiln_entry_pct", _("Below the target; the kiln could only make it wetter."))
        given = [name for name in PACK if cleaned.get(name)]
        for name in PACK:
            if given and name not in given and name not in self.errors:
                self.add_error(name, _("A pack needs all three sizes, or none."))
        return cleaned

    @property
    def more_is_wrong(self) -> bool:
        """Whether an error hides in the part of the form that is folded away."""
        shown = {"species", "thickness_mm", "place", "cut_on", "photo", "__all__"}
        return bool(set(self.errors) - shown) if self.is_bound else False


def species_choices() -> list[tuple[Any, Any]]:
    """All species in one query, those that the yard has saved for at the top."""
    here = Exists(Stack.objects.filter(species=OuterRef("pk")))
    rows = list(Species.objects.annotate(here=here).values_list("pk", "name", "here"))
    rows = sorted(((pk, told(name), is_here) for pk, name, is_here in rows), key=lambda row: in_order(row[1]))
    used = [(pk, name) for pk, name, is_here in rows if is_here]
    rest = [(pk, name) for pk, name, is_here in rows if not is_here]
    groups = [(_("In this yard"), used), (_("Others"), rest)] if used else rest
    return [("", _("Choose the species")), *groups]


def offered(today: date) -> dict[str, Any]:
    """First values for a new stack: the last tagged one's, or the usual ones for a yard's first.

    It was sawn today, unless the last was tagged today as well. It stands where the last one does, or, where that is
    in a kiln or a store of dry wood, where green wood was stacked last.
    """
    stood = ("place__kind", "place__given_up")
    last = Stack.objects.filter(split_from=None).order_by("-made_at", "-pk").values("made_at", *stood, *OFFERED).first()
    if last is None:
        usual = Stack()  # with the defaults of its fields
        return {name: getattr(usual, name) for name in USUAL} | {"cut_on": today}
    made_on = timezone.localdate(last.pop("made_at"))
    kind, given_up = (last.pop(name) for name in stood)
    if given_up or kind in (PlaceKind.KILN, PlaceKind.CLOSED_STORE):
        place = outlook.usual_place()
        last["place"] = place.pk if place else None
    return last if made_on == today else last | {"cut_on": today}
