"""A board that is looked for: at least so long, wide and thick when dry and planed."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.naming import NamesField
from yard.fields.numbers import NumberField
from yard.fields.tagcode import TagCodeField
from yard.forms.sizes import LengthField, ThicknessField, WidthField
from yard.models import MillFigures, Species, Stack
from yard.outlook import Wish


class FindForm(forms.Form):
    species: forms.ModelChoiceField = NamesField(
        label=_("Species"), queryset=None, required=False, empty_label=_("any"), to_field_name="key"
    )
    length = LengthField(label=_("Length, at least"), unit="m")
    width = WidthField(label=_("Width, at least"), unit="mm")
    thickness = ThicknessField(label=_("Thickness, finished"), unit="mm", least_mm=5, most_mm=98)
    moisture = NumberField(label=_("Moisture"), unit="%", min_value=4, max_value=30, initial=8)
    planing = NumberField(label=_("Planing, each side"), unit="mm", min_value=0, max_value=20, required=False)
    trim = NumberField(
        label=_("Off the ends, in all"), unit="mm", min_value=0, max_value=1000, required=False, initial=0
    )
    code = TagCodeField(label=_("Tag"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            self.initial.setdefault("planing", MillFigures.current().planing_mm)
        here = Stack.objects.standing().values("species")
        self.fields["species"].queryset = Species.objects.filter(pk__in=here)  # type: ignore[attr-defined]

    def wish(self) -> Wish:
        """Of a valid form."""
        given = self.cleaned_data
        return Wish(
            length_mm=given["length"],
            width_mm=given["width"],
            thickness_mm=given["thickness"],
            moisture_pct=given["moisture"],
            species=given["species"],
            planing_mm=given["planing"] or 0.0,
            trim_mm=given["trim"] or 0.0,
        )

    def shown_again(self) -> list[tuple[str, str]]:
        """What was asked for, as hidden fields of the form that scans a tag."""
        return [(name, self.data[name]) for name in self.fields if name != "code" and self.data.get(name)]
