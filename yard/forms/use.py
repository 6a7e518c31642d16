"""What a stack was used for, and as what it left."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField
from yard.models import LeftAs


class UseForm(forms.Form):
    for_what = forms.CharField(label=_("What for"), max_length=120, help_text=_("A job, a buyer, or firewood."))
    left_as = forms.ChoiceField(
        label=_("What became of it"),
        choices=[*LeftAs.choices, ("", _("not said"))],
        widget=forms.RadioSelect,
        required=False,
    )
    sold_for = NumberField(label=_("Sold for"), required=False, min_value=0, max_value=1e7)

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sold_for"].unit = currency  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("sold_for") is not None and cleaned.get("left_as") not in (LeftAs.SOLD, "", None):
            self.add_error("sold_for", _("Only what was sold has a price: choose “sold”, or leave it empty."))
        elif cleaned.get("sold_for") is not None:
            cleaned["left_as"] = LeftAs.SOLD
        return cleaned
