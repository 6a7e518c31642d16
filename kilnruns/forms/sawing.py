"""What the sawing list is asked for: the day, where it will stand, how it is sawn, and out of which logs."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField
from yard.models import MillFigures, Place, Sawn

FURTHEST = timedelta(days=730)


class SawListForm(forms.Form):
    """Begins with tomorrow, the usual place and the mill's figures; nothing of it is kept."""

    day = forms.DateField(label=_("Mill day"), widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    place: forms.ModelChoiceField = forms.ModelChoiceField(Place.objects.none(), label=_("It will stand in"))
    sawn = forms.ChoiceField(label=_("Boards are sawn"), choices=Sawn.choices)
    diameter = NumberField(label=_("Logs: diameter at half the length"), unit="mm", min_value=50, max_value=2000)
    length = NumberField(label=_("Logs: length"), unit="m", min_value=0.3, max_value=25)
    share = NumberField(label=_("Sawn wood of a log"), unit="%", min_value=10, max_value=90)

    def __init__(self, data: Any = None, *, figures: MillFigures, place: Place | None, today: date) -> None:
        usual = {
            "day": today + timedelta(days=1),
            "place": place,
            "sawn": figures.sawn,
            "diameter": figures.log_diameter_mm,
            "length": figures.log_length_m,
            "share": 100 * figures.log_yield,
        }
        super().__init__(data, initial=usual)
        self.fields["place"].queryset = Place.objects.outdoors()  # type: ignore[attr-defined]
        self.today, self.figures = today, figures

    def clean_day(self) -> date:
        day = self.cleaned_data["day"]
        if not self.today <= day <= self.today + FURTHEST:
            raise forms.ValidationError(_("Give today or a day of the next two years."))
        return day

    @property
    def asked(self) -> dict[str, Any]:
        """Day, place and figures: those given, or as it begins where nothing or nothing sound was given."""
        given = self.cleaned_data if self.is_bound and self.is_valid() else self.initial
        figures = MillFigures(**{name: getattr(self.figures, name) for name in ("cut_yield", "planing_mm", "trim_mm",
                                                                                  "kerf_mm")})  # fmt: skip
        figures.sawn, figures.log_yield = given["sawn"], given["share"] / 100
        figures.log_diameter_mm, figures.log_length_m = round(given["diameter"]), given["length"]
        return {"sawn": given["day"], "place": given["place"], "figures": figures}
