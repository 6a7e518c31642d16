"""The rules of planning, as an owner changes them: figures within sane ranges, and the days on which one loads."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext_lazy as _

from kilnruns.forms.kiln import ClosureForm
from kilnruns.models import DayOff, PlanningRules
from yard.fields.numbers import NumberField

SHARES = ("thinnest_to_thickest", "smallest_fill", "smallest_part")
RANGES = {
    "thinnest_to_thickest": (50, 100),
    "moisture_window_pct": (2, 15),
    "smallest_fill": (20, 95),
    "smallest_part": (5, 50),
}


class RulesForm(forms.Form):
    """Shares are typed in %."""

    thinnest_to_thickest = NumberField(
        label=_("Thinnest board, of the thickest"),
        help_text=_("Thin boards are dry first and wait, too dry, for the thick ones. 50 to 100 %."),
    )
    moisture_window_pct = NumberField(
        label=_("Moisture apart at the start, at most"),
        help_text=_("The wettest sets the days for all. 2 to 15 points."),
    )
    smallest_fill = NumberField(
        label=_("A charge fills the kiln to at least"),
        help_text=_("A half-empty kiln takes as many days. 20 to 95 %."),
    )
    smallest_part = NumberField(
        label=_("Part of a split stack, at least"),
        help_text=_("A handful of boards is not worth a second stack. 5 to 50 %."),
    )

    def __init__(self, data: Any = None, *, rules: PlanningRules) -> None:
        figures = {name: 100 * value if name in SHARES else value for name, value in rules.figures.items()}
        super().__init__(data, initial=figures)
        self.rules = rules
        for name, (least, most) in RANGES.items():
            field: Any = self.fields[name]
            field.validators += [MinValueValidator(least), MaxValueValidator(most)]
            field.unit = "%" if name in SHARES else _("points")

    def rules_changed(self) -> PlanningRules:
        """The mill's rules with what was typed, not kept yet."""
        for name, value in self.cleaned_data.items():
            setattr(self.rules, name, value / 100 if name in SHARES else value)
        return self.rules


class LoadingDaysForm(forms.Form):
    """On which weekdays somebody loads."""

    days = forms.TypedMultipleChoiceField(
        label=_("We load on"),
        choices=[(number, name) for number, name in WEEKDAYS.items()],
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": _("Tick at least one day: without one no charge can begin.")},
    )

    def __init__(self, data: Any = None, *, rules: PlanningRules) -> None:
        super().__init__(data, initial={"days": rules.loading_days})
        self.rules = rules

    def rules_changed(self) -> PlanningRules:
        """The mill's rules with what was ticked, not kept yet."""
        self.rules.loading_days = sorted(self.cleaned_data["days"])
        return self.rules


class DayOffForm(ClosureForm):
    """Days on which nobody loads any kiln."""

    class Meta(ClosureForm.Meta):
        model: type[Any] = DayOff
