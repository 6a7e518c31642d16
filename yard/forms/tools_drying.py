"""The drying time of a stack that is not there yet."""

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.utils.dates import MONTHS
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.fields.numbers import plain
from yard.forms.figures import FigureField, Output, ToolForm
from yard.forms.woodfield import OfWood, WoodField
from yard.models import Place
from yard.outlook import tools
from yard.templatetags.amounts import NOTHING, number, pct, pct_short, with_unit


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
        _("The forecast's own model, as for a stack without a reading: diffusion through the thickness in the place's "
          "monthly air; rates fitted to published air-drying times, partly recalled, and moved by what this yard has "
          "learned."),
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
        self.months = _months(answers)
        return answers[given["month"] - 1]

    def times(self, thicknesses_mm: list[float]) -> dict[float, list[tools.Answer]]:
        """By thickness, the answer of each month of stacking."""
        given = self.cleaned_data
        assert self.today is not None
        known = {"target_pct": given["target"], "start_pct": given["start"], "today": self.today}
        return tools.drying_times(given["wood"], given["place"], thicknesses_mm=thicknesses_mm, **known)

    def table(self) -> dict[str, Any]:
        """For the phone, once valid: the days by thickness and month in words, each thickness with its query."""
        given = self.cleaned_data
        wanted = sorted({*map(float, tools.USUAL_MM), given["thickness"]})
        known = {name: given[name] for name in ("target", "start") if given[name] is not None}
        query = {"wood": given["wood"].key, "place": given["place"].pk, "month": given["month"], **known}
        assert self.found is not None
        return {
            "key": urlencode({**query, "month": ""}),
            "title": f"{capfirst(given['wood'].name)}, {given['place'].name}, {pct_short(given['target'])}",
            "from": "" if given["start"] is None else pct_short(given["start"]),
            "reachable": pct(self.found.figures["reachable"]),
            "asked": wanted.index(given["thickness"]),
            "sizes": [
                {
                    "mm": with_unit(mm, 0 if mm.is_integer() else 1, "mm"),
                    "query": urlencode({**query, "thickness": plain(mm)}),
                    "months": _months(answers),
                }
                for mm, answers in self.times(wanted).items()
            ],
        }


def _months(answers: list[tools.Answer]) -> list[dict[str, str]]:
    return [days_in_words(name, one) for name, one in zip(MONTHS.values(), answers, strict=True)]


def days_in_words(month: Any, answer: tools.Answer) -> dict[str, str]:
    """A month's name, the days that are as likely as not, and the band of four in five."""
    low, about, high = (answer.figures[name] for name in ("p10", "p50", "p90"))
    shown = {name: "" if value is None else number(value, 0) for name, value in (("low", low), ("high", high))}
    band = _("%(low)s to %(high)s") if high is not None else _("%(low)s or more")
    return {
        "month": capfirst(str(month)),
        "about": NOTHING if about is None else number(about, 0),
        "band": NOTHING if low is None else str(band) % shown,
    }
