"""The logs that are at hand, for what is still to be sawn."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField
from yard.models import MillFigures


class LogForm(forms.Form):
    """Begins with the mill's usual log."""

    diameter = NumberField(label=_("Diameter at half the length"), unit="mm", min_value=50, max_value=2000)
    length = NumberField(label=_("Log's length"), unit="m", min_value=0.3, max_value=25)
    share = NumberField(
        label=_("Yield of sawn wood"),
        unit="%",
        min_value=10,
        max_value=90,
        help_text=_("How much of a log becomes boards; it begins with the mill's figure."),
    )

    def __init__(self, data: Any = None, *, figures: MillFigures) -> None:
        usual = {
            "diameter": figures.log_diameter_mm,
            "length": figures.log_length_m,
            "share": 100 * figures.log_yield,
        }
        super().__init__(data, initial=usual)

    @property
    def log(self) -> dict[str, float] | None:
        """What was asked about, or the usual one; None for what was refused."""
        if not self.is_bound:
            return dict(self.initial)
        return self.cleaned_data if self.is_valid() else None
