"""Wood that a project wants: for what and by when, and its lines, one form a line."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from yard import outlook
from yard.fields.lineunit import line_faults
from yard.fields.naming import NamesField
from yard.fields.numbers import NumberField
from yard.forms.sizes import LengthField, ThicknessField, WidthField
from yard.measures.quantities import AREA, LENGTH, VOLUME
from yard.measures.system import imperial
from yard.measures.told import unit_of
from yard.models import Importance, Need, NeedLine, Purpose, Species, Unit


class NeedForm(forms.ModelForm):
    """Without a moisture, the use says it."""

    use = forms.ChoiceField(
        label=gettext_lazy("What is it for?"),
        choices=Purpose.choices,
        required=False,
        initial=Purpose.OTHER,
        widget=forms.RadioSelect,
    )
    target_pct = NumberField(
        label=gettext_lazy("Moisture"),
        unit="%",
        min_value=4,
        max_value=30,
        required=False,
        help_text=gettext_lazy("Left empty, what it is for says it: 8 % for furniture and floors, 12 % for joinery, "
                               "16 % outdoors and for framing."),
    )  # fmt: skip
    room_c = NumberField(
        label=gettext_lazy("Or the room that it will live in"),
        unit="°C",
        min_value=outlook.ROOM_C[0],
        max_value=outlook.ROOM_C[1],
        required=False,
    )
    room_humidity_pct = NumberField(
        label=gettext_lazy("and its air, RH over the year"),
        unit="%",
        min_value=outlook.ROOM_HUMIDITY_PCT[0],
        max_value=outlook.ROOM_HUMIDITY_PCT[1],
        required=False,
        help_text=gettext_lazy("Without a moisture above, the wood is dried to what it comes to in that air."),
    )
    importance = forms.TypedChoiceField(
        label=gettext_lazy("How much it matters"),
        choices=Importance.choices,
        required=False,
        initial=Importance.USUAL,
        coerce=int,
        empty_value=str(Importance.USUAL.value),
    )

    class Meta:
        model = Need
        fields = ["name", "use", "target_pct", "room_c", "room_humidity_pct", "wanted_by", "importance", "note"]
        widgets = {"wanted_by": forms.DateInput({"type": "date"})}

    def clean_use(self) -> str:
        return self.cleaned_data["use"] or Purpose.OTHER.value

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        room = given.get("room_c"), given.get("room_humidity_pct")
        if "room_c" in given and "room_humidity_pct" in given and (room[0] is None) != (room[1] is None):
            missing = "room_c" if room[0] is None else "room_humidity_pct"
            self.add_error(missing, _("A room's air is told by both, its temperature and its humidity."))
        elif "target_pct" in given and given["target_pct"] is None:
            given["target_pct"] = outlook.room_moisture_pct(*room) or outlook.usual_target_pct(given.get("use", ""))
            if given["target_pct"] is None:
                self.add_error("target_pct", _("Give the moisture, or say what it is for."))
        return given


COUNTED = {Unit.METRES.value: LENGTH, Unit.SQUARE_METRES.value: AREA, Unit.CUBIC_METRES.value: VOLUME}
"""What a quantity measures, by the unit that is chosen beside it."""


class LineForm(forms.Form):
    """One size of a need. Phones of old send a volume alone, which is a quantity in m³."""

    species: forms.ModelChoiceField = NamesField(
        Species.objects.all(), label=gettext_lazy("Species"), empty_label=gettext_lazy("choose")
    )
    or_species: forms.ModelChoiceField = NamesField(
        Species.objects.all(), label=gettext_lazy("Or instead"), required=False, empty_label=gettext_lazy("none other")
    )
    thickness_mm = ThicknessField(label=gettext_lazy("Finished thickness"), least_mm=5, most_mm=98, unit="mm")
    width_mm = WidthField(
        label=gettext_lazy("Finished width"),
        unit="mm",
        required=False,
        help_text=gettext_lazy("Left empty, any width will do."),
    )
    length_mm = LengthField(
        label=gettext_lazy("Finished length"),
        unit="m",
        required=False,
        help_text=gettext_lazy("Left empty, any length will do."),
    )
    quantity = NumberField(label=gettext_lazy("Quantity"), min_value=0.001, max_value=100_000)
    unit = forms.ChoiceField(
        label=gettext_lazy("Counted in"),
        choices=Unit.choices,
        initial=Unit.PIECES,
        widget=forms.RadioSelect,
        help_text=gettext_lazy("Cubic metres are of sawn wood, before planing."),
    )

    def __init__(self, data: Any = None, *, line: NeedLine | None = None, **kwargs: Any) -> None:
        if data is not None and "quantity" not in data and "volume_m3" in data:
            data = data.copy()
            data["quantity"], data["unit"] = data["volume_m3"], Unit.CUBIC_METRES.value
        if line is not None:
            kwargs["initial"] = _initial(line)
        super().__init__(data, **kwargs)
        counted_in: Any = self.fields["unit"]
        counted_in.choices = [(key, unit_of(str(words))) for key, words in Unit.choices]
        if imperial():
            counted_in.help_text = _("Board feet are of sawn wood, before planing.")
        chosen = self.data.get(self.add_prefix("unit")) if self.is_bound else self.initial.get("unit")
        quantity: Any = self.fields["quantity"]
        quantity.given = COUNTED.get(str(chosen))

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        for name, why in line_faults(given):
            self.add_error(name, why)
        return given

    def fields_of_line(self) -> dict[str, Any]:
        """Of a valid form, for the action."""
        given = dict(self.cleaned_data)
        species = [one for one in (given.pop("species"), given.pop("or_species")) if one]
        return given | {"species": species}


def _initial(line: NeedLine) -> dict[str, Any]:
    names = ("thickness_mm", "width_mm", "length_mm", "quantity", "unit")
    woods = list(line.species.all())
    both = {"species": woods[0].pk if woods else None, "or_species": woods[1].pk if len(woods) > 1 else None}
    return {name: getattr(line, name) for name in names} | both
