"""What is taken at the end of a run: boards measured, stress sections, degrade, costs."""

from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from kilnruns.models import Defect, RunCosts, StressTest
from yard.fields.numbers import NumberField
from yard.fields.values import NumbersField
from yard.models import Method

METERS = [(Method.PINS.value, _("pins")), (Method.CAPACITANCE.value, _("capacitance"))]
FEW = [(0, _("none")), (2, _("1 in 50")), (5, _("1 in 20"))]
SHARES = [*FEW, (10, _("1 in 10")), (25, _("1 in 4")), (50, _("half or more"))]


def number(label: Any, unit: Any, least: float, most: float, *, required: bool = True, **more: Any) -> NumberField:
    """A number with its unit and range."""
    limits = [MinValueValidator(least), MaxValueValidator(most)]
    field = NumberField(label=label, required=required, validators=limits, **more)
    field.unit = unit
    return field


class MeasurementForm(forms.Form):
    """One value a board, and maybe core and shell of some of them."""

    method = forms.ChoiceField(label=_("Method"), choices=METERS, widget=forms.RadioSelect, initial=Method.PINS)
    values = NumbersField(
        label=_("Boards, %"),
        least=3,
        most=150,
        help_text=_("One value a board: the mean, where a board was read in several places. A blank between."),
        error_messages={"required": _("Type at least one value.")},
    )
    core = NumbersField(
        label=_("Core, %"), least=3, most=150, required=False, help_text=_("Of some boards, pins at half thickness.")
    )
    shell = NumbersField(
        label=_("Shell, %"), least=3, most=150, required=False, help_text=_("Of the same boards in the same order.")
    )
    wood_temperature_c = number(
        _("Wood temperature"),
        "°C",
        -20,
        95,
        required=False,
        help_text=_("In warm wood pins read some points too high."),
    )
    dried_mm = NumbersField(
        label=_("Thickness now"),
        unit="mm",
        least=5,
        most=200,
        required=False,
        help_text=_("Of two boards or more, if you like: it tells the shrinkage."),
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        core, shell = cleaned.get("core") or [], cleaned.get("shell") or []
        if len(core) != len(shell) and not self.errors.keys() & {"core", "shell"}:
            words = _("%(core)d values of the core and %(shell)d of the shell: give both of each board.")
            count = {"core": len(core), "shell": len(shell)}
            self.add_error("shell", forms.ValidationError(words, params=count))
        return cleaned

    def figures(self) -> dict[str, Any]:
        """The keyword arguments of `keep_measurement` that were typed."""
        cleaned = self.cleaned_data
        pairs = list(zip(cleaned["core"], cleaned["shell"], strict=True))
        names = ("method", "values", "wood_temperature_c", "dried_mm")
        return {**{name: cleaned[name] for name in names}, "pairs": pairs}


class StackChoice(forms.Form):
    """Of which stack of the charge."""

    stack = forms.ChoiceField(label=_("From which stack"), widget=forms.RadioSelect)

    def __init__(self, *args: Any, stacks: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stack"].choices = stacks  # type: ignore[attr-defined]
        if len(stacks) == 1:
            self.fields["stack"].initial = stacks[0][0]


class ProngForm(StackChoice):
    """A section cut to prongs."""

    prong_mm = number(_("Length of the prongs"), "mm", 20, 300)
    fresh_mm = number(_("Tips apart, just cut"), "mm", 0, 300)
    rested_mm = number(
        _("Tips apart a day later"), "mm", 0, 300, required=False, help_text=_("Leave it empty now, and come back.")
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=200)
    names = ("prong_mm", "fresh_mm", "rested_mm", "note")


class GapForm(StackChoice):
    """A slice split at mid-thickness."""

    gap_mm = number(_("Gap between the halves"), "mm", 0, 50)
    width_mm = number(_("Width of the slice"), "mm", 40, 300)
    note = forms.CharField(label=_("Note"), required=False, max_length=200)
    names = ("gap_mm", "width_mm", "note")


STRESS_FORMS: dict[str, type[ProngForm] | type[GapForm]] = {
    StressTest.Kind.PRONG.value: ProngForm,
    StressTest.Kind.GAP.value: GapForm,
}


class RestedForm(forms.Form):
    """The second look at a prong section."""

    rested_mm = number(_("Tips apart now"), "mm", 0, 300)


class DegradeForm(forms.Form):
    """Each kind of defect with how much of the stack has it; what is not touched stays unsaid."""

    by_volume = forms.ChoiceField(
        label=_("Counted"),
        choices=[("", _("by boards")), ("1", _("by volume"))],
        required=False,
        widget=forms.RadioSelect,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for kind, label in Defect.choices:
            self.fields[kind] = forms.TypedChoiceField(
                label=capfirst(str(label)),
                choices=SHARES,
                coerce=float,
                required=False,
                empty_value=None,
                widget=forms.RadioSelect,
            )

    @property
    def kinds(self) -> list[Any]:
        return [self[kind] for kind in Defect.values]

    def shares(self) -> dict[str, float]:
        given = {kind: self.cleaned_data.get(kind) for kind in Defect.values}
        return {kind: share for kind, share in given.items() if share is not None}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not self.shares():
            self.add_error(None, _("Tap how much for at least one kind; “none” counts, too."))
        return cleaned


class CostsForm(forms.ModelForm):
    """Work and electricity that no record tells of."""

    labour_hours = number(_("Hours of work"), "h", 0, 2000, required=False)
    hourly_rate = number(_("An hour costs"), "", 0, 1000, required=False)
    energy_kwh = number(
        _("Electricity"), "kWh", 0, 1e6, required=False, help_text=_("Only where another meter tells it better.")
    )

    class Meta:
        model = RunCosts
        fields = ["labour_hours", "hourly_rate", "energy_kwh"]
