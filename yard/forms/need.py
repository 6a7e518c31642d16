"""Wood that a project wants."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField
from yard.forms.sizes import ThicknessField
from yard.models import Need


class NeedForm(forms.ModelForm):
    thickness_mm = ThicknessField(label=_("Finished thickness"), least_mm=5, most_mm=98)
    volume_m3 = NumberField(label=_("Volume"), min_value=0.001, max_value=10_000)
    target_pct = NumberField(label=_("Moisture"), min_value=4, max_value=30, initial=8)

    class Meta:
        model = Need
        fields = ["name", "species", "thickness_mm", "volume_m3", "target_pct", "wanted_by", "note"]
        widgets = {"wanted_by": forms.DateInput({"type": "date"})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in (("thickness_mm", "mm"), ("volume_m3", "m³"), ("target_pct", "%")):
            self.fields[name].unit = unit  # type: ignore[attr-defined]
        self.fields["volume_m3"].help_text = _("Of sawn wood, before planing.")
        self.fields["species"].empty_label = _("choose")  # type: ignore[attr-defined]
