"""The logs that are at hand, for what is still to be sawn."""

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField


class LogForm(forms.Form):
    diameter = NumberField(label=_("Diameter at half the length"), unit="mm", min_value=50, max_value=2000, initial=350)
    length = NumberField(label=_("Log's length"), unit="m", min_value=0.3, max_value=25, initial=4)
    share = NumberField(
        label=_("Yield of sawn wood"),
        unit="%",
        min_value=10,
        max_value=90,
        initial=55,
        help_text=_("About half of a log becomes boards (common practice, no source); put in your own."),
    )
