"""The drying time of a stack that is not there yet."""

from datetime import date
from typing import Any

from django import forms
from django.utils.dates import MONTHS
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.forms.figures import FigureField, Output, ToolForm
from yard.forms.woodfield import OfWood, WoodField
from yard.models import Place
from yard.outlook import tools


class PlaceField(forms.ChoiceField):
    """A place outdoors that has its climate, cleaned to its row. Its choices come by `offer`."""

    default_error_messages = {
        "required": _("Choose where it would stand."),
        "invalid_choice": _("No such place has a climate; choose one."),
    }

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(label=_("Place"), choices=[], **kwargs)
        self.rows: dict[str, Place] = {}

    def offer(self, rows: list[Place]) -> None:
        self.rows = {str(row.pk): row for row in rows if outlook.climate(row) is not None}
        self.choices = [("", _("Choose the place")), *((key, row.name) for key, row in self.rows.items())]

    def clean(self, value: Any) -> Any:
        return self.rows.get(super().clean(value))


class DryingForm(OfWood, ToolForm):
    """`today` decides which May is the coming one, and so is needed; `months` holds the answer for each month."""

    key, title = "drying", _("Drying time: what if")
    lead = _("How long from stacking to the target, by wood, place, thickness and month?")
    wood, place = WoodField(), PlaceField()
    thickness = FigureField(label=_("Thickness"), unit="mm", least=15, most=100)
    month = forms.TypedChoiceField(label=_("Stacked in"), choices=list(MONTHS.items()), coerce=int)
    target = FigureField(label=_("Target"), unit="%", least=6, most=40, otherwise=20)
    start = FigureField(
        label=_("Moisture when stacked"),
        unit="%",
        least=10,
        most=250,
        required=False,
        help_text=_("Left empty, green as the book of species has it."),
    )
    outputs = (
        Output("p50", _("from stacking to the target, as likely sooner as later"), _("days"), 0),
        Output("p10", _("sooner than this one time in ten"), _("days"), 0),
        Output("p90", _("later than this one time in ten"), _("days"), 0),
        Output("reachable", _("the driest wood gets in this place"), "%", 1),
    )
    notes = {
        "never": _("It never gets so dry there: the air does not allow it. Dry it further in a kiln."),
        "late": _("More likely than not it takes more than four years, or never gets there."),
        "open": _("The late end is open: one time in ten it takes more than four years."),
    }
    refusals = {
        "no_climate": _("This place has no climate yet; give it one under Places."),
        "not_wetter": _("The wood starts at {start} %, which is no wetter than that."),
    }
    sources = (
        _("The forecast's own model and prior, as for a stack without a reading: diffusion through the thickness in "
          "the place's monthly air; rates fitted to published air-drying times, partly recalled."),
    )  # fmt: skip
    limits = _(
        "For stickered boards of 15 to 100 mm, stacked in the middle of the month; checked against published times "
        "from 19 to 76 mm. A dense stack, wind or rain change it; a reading of the stack itself narrows it."
    )

    def __init__(self, *args: Any, today: date | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today, self.months = today, []  # type: ignore[var-annotated]
        if today is not None:
            self.fields["place"].offer(list(Place.objects.outdoors()))  # type: ignore[attr-defined]
            self.fields["month"].initial = today.month

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        thickness = given["thickness"]
        answers = self.times([thickness])[thickness]
        self.months = [(MONTHS[number], one) for number, one in enumerate(answers, 1)]
        return answers[given["month"] - 1]

    def times(self, thicknesses_mm: list[float]) -> dict[float, list[tools.Answer]]:
        """By thickness, the answer of each month of stacking."""
        given = self.cleaned_data
        assert self.today is not None
        known = {"target_pct": given["target"], "start_pct": given["start"], "today": self.today}
        return tools.drying_times(given["wood"], given["place"], thicknesses_mm=thicknesses_mm, **known)

    def table(self) -> dict[str, Any]:
        """For the phone, once valid: whole days P10, P50, P90 (null: open) by thickness and month."""
        given = self.cleaned_data
        wanted = sorted({*map(float, tools.USUAL_MM), given["thickness"]})
        return {
            "wood": given["wood"].key,
            "woodName": given["wood"].name,
            "place": given["place"].pk,
            "placeName": given["place"].name,
            "target": given["target"],
            "start": given["start"],
            "reachable": self.found and self.found.figures["reachable"],
            "times": [[mm, [_days(one) for one in months]] for mm, months in self.times(wanted).items()],
        }


def _days(answer: tools.Answer) -> list[float | None]:
    return [answer.figures[name] for name in ("p10", "p50", "p90")]
