"""The steps that a charge is run by, as an operator writes them: each step's air by one of its figures."""

from itertools import pairwise
from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory
from django.utils.translation import gettext_lazy as _

from kilnruns.models import Charge
from kilnruns.planning.own_steps import air_of, out_of_order
from yard.fields.numbers import NumberField, plain
from yard.measures.told import celsius

AIR = {"wet_bulb_c": _("Wet bulb"), "humidity_pct": _("RH"), "emc_pct": _("EMC")}
UNITS = {"wet_bulb_c": "°C", "humidity_pct": "%", "emc_pct": "%"}
MOST_STEPS = 12


class StepForm(forms.Form):
    """A step. Of wet bulb, RH and EMC the one that was changed counts, and the others follow from it; with none
    changed the wet bulb stays. `was` holds what stood in them."""

    from_pct = NumberField(label=_("From moisture"), unit="%", min_value=3, max_value=200, required=False)
    dry_bulb_c = NumberField(label=_("Dry bulb"), unit="°C", min_value=20, max_value=110)
    wet_bulb_c = NumberField(label=AIR["wet_bulb_c"], unit="°C", min_value=10, max_value=110, required=False)
    humidity_pct = NumberField(label=AIR["humidity_pct"], unit="%", min_value=1, max_value=100, required=False)
    emc_pct = NumberField(label=AIR["emc_pct"], unit="%", min_value=0.5, max_value=35, required=False)
    out = forms.BooleanField(label=_("Take this step out"), required=False)
    was = forms.CharField(widget=forms.HiddenInput, required=False, max_length=60)

    def __init__(self, *args: Any, most_c: float, altitude_m: float, is_first: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.most_c, self.altitude_m, self.is_first = most_c, altitude_m, is_first
        if is_first:
            del self.fields["from_pct"], self.fields["out"]

    def clean_dry_bulb_c(self) -> float:
        value: float = self.cleaned_data["dry_bulb_c"]
        if value > self.most_c:
            raise forms.ValidationError(_("This kiln bears %(most)s at most.") % {"most": celsius(self.most_c)})
        return value

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("out"):
            self._errors = self.error_class()  # whatever stands in a step that goes
            return cleaned
        if not self.is_first and cleaned.get("from_pct") is None and "from_pct" not in self.errors:
            self.add_error("from_pct", _("From which moisture on? Of the wetter half of the sample boards."))
        if not self.errors:
            self._take_air(cleaned)
        return cleaned

    def _take_air(self, cleaned: dict[str, Any]) -> None:
        counts = self._counting()
        if len(counts) > 1:
            words = _("Change one of wet bulb, RH and EMC alone: the others follow from it.")
            self.add_error(counts[1], words)
        elif not counts:
            self.add_error("wet_bulb_c", _("Give the wet bulb, the RH or the EMC."))
        else:
            self._follow(cleaned, counts[0])

    def _follow(self, cleaned: dict[str, Any], name: str) -> None:
        if name == "wet_bulb_c" and cleaned[name] > cleaned["dry_bulb_c"]:
            self.add_error(name, _("The wet bulb is never warmer than the dry bulb."))
            return
        try:
            cleaned |= air_of(cleaned["dry_bulb_c"], altitude_m=self.altitude_m, **{name: cleaned[name]})
        except ValueError:
            self.add_error(name, _("No air of this dry bulb has that; look at both figures again."))

    def _counting(self) -> list[str]:
        """The figures of the air that were changed; the wet bulb where none was."""
        typed = {name: (self[name].value() or "") for name in AIR}
        was = dict(zip(AIR, str(self["was"].value() or "||").split("|"), strict=False))
        changed = [name for name in AIR if str(typed[name]).strip() != was.get(name, "") and typed[name]]
        return changed or [name for name in AIR if typed[name]][:1]


class Steps(BaseFormSet):
    """All steps of a schedule, from green down."""

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        return {**super().get_form_kwargs(index), "is_first": index == 0}

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The steps that stay; of valid forms."""
        names = ("from_pct", "dry_bulb_c", *AIR, "altitude_m")
        stay = [form.cleaned_data for form in self.forms if not form.cleaned_data.get("out")]
        return [{name: one.get(name) for name in names} for one in stay]

    def clean(self) -> None:
        if any(self.errors):
            return
        stay = [form for form in self.forms if not form.cleaned_data.get("out")]
        for index in out_of_order(self.rows):
            stay[index].add_error("from_pct", _("Steps go down: this must be less than the step before."))
        for before, form in pairwise(stay):
            least_c = before.cleaned_data["dry_bulb_c"]
            if form.cleaned_data.get("dry_bulb_c", least_c) < least_c:
                words = _("Steps grow warmer, never cooler: at least %(c)s, as in the step before.")
                form.add_error("dry_bulb_c", words % {"c": celsius(least_c)})


StepsFormSet: Any = formset_factory(StepForm, formset=Steps, extra=0, max_num=MOST_STEPS, validate_max=True)


def shown(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows as the forms show them first, each with what stands in its air."""
    return [{**row, "was": "|".join(_text(row[name]) for name in AIR)} for row in rows]


def _text(value: Any) -> str:
    return "" if value is None else plain(value)


class ClosingForm(forms.Form):
    """The closing steps, % moisture; `harder_seen` when the steps ask more of the wood than what was proposed."""

    equalise_from_driest_pct = NumberField(
        label=_("Equalise when the driest is at"), unit="%", min_value=2, max_value=30
    )
    equalise_pct = NumberField(label=_("Equalising air, EMC"), unit="%", min_value=2, max_value=25)
    condition_pct = NumberField(label=_("Conditioning air, EMC"), unit="%", min_value=4, max_value=25)
    harder_seen = forms.BooleanField(label=_("I know, and keep it nevertheless"), required=False)

    def __init__(self, *args: Any, charge: Charge, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in list(self.fields):
            if name != "harder_seen" and charge.course.get(name) is None:
                del self.fields[name]
        if not charge.kiln.humidifies:
            self.fields.pop("condition_pct", None)

    @property
    def figures(self) -> dict[str, float]:
        return {name: self.cleaned_data[name] for name in self.fields if name != "harder_seen"}
