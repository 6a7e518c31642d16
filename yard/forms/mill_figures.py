"""The mill's own figures of sawing and cutting, as an owner changes them, and the logs that are at hand."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField, WholeField
from yard.models import FIGURES, MillFigures, Sawn

SHARES = ("log_yield", "cut_yield")


class MillFiguresForm(forms.Form):
    """Shares are typed in %."""

    sawn = forms.ChoiceField(label=_("How boards are sawn here"), choices=Sawn.choices, widget=forms.RadioSelect)
    planing_mm = NumberField(label=_("Planed off each face and edge"), unit="mm", min_value=0, max_value=20)
    trim_mm = WholeField(label=_("Trimmed off a board's ends, in all"), unit="mm", min_value=0, max_value=1000)
    kerf_mm = WholeField(label=_("Kerf when boards are cut up"), unit="mm", min_value=0, max_value=20)
    log_yield = NumberField(
        label=_("Sawn wood of a log"),
        unit="%",
        min_value=10,
        max_value=90,
        help_text=_("Of its volume under bark, by the diameter at half its length."),
    )
    cut_yield = NumberField(
        label=_("Finished wood of green boards in random widths"),
        unit="%",
        min_value=10,
        max_value=100,
        help_text=_("After shrinking, planing and trimming. Needs and plans count by it."),
    )
    log_diameter_mm = WholeField(
        label=_("Usual log: diameter at half its length"), unit="mm", min_value=50, max_value=2000
    )
    log_length_m = NumberField(label=_("Usual log: length"), unit="m", min_value=0.3, max_value=25)

    def __init__(self, data: Any = None, *, figures: MillFigures) -> None:
        known = {name: getattr(figures, name) for name in FIGURES}
        super().__init__(data, initial=known | {name: 100 * known[name] for name in SHARES})
        self.figures = figures

    def save(self) -> None:
        for name, value in self.cleaned_data.items():
            setattr(self.figures, name, value / 100 if name in SHARES else value)
        self.figures.save()
