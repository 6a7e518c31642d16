"""Readings by meter: pins and capacitance."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.fields.numbers import NumberField
from yard.fields.values import ValuesField
from yard.forms.visit import VisitForm
from yard.measures.quantities import TEMPERATURE
from yard.measures.told import celsius, figure

METER_LEAST_PCT, METER_MOST_PCT = 3, 150


class MeterForm(VisitForm):
    """Values off a capacitance meter."""

    values = ValuesField(
        label=_("Values, %"),
        least=METER_LEAST_PCT,
        most=METER_MOST_PCT,
        help_text=_("Three to five boards, a blank between."),
        error_messages={"required": _("Type at least one value.")},
    )
    board: forms.ModelChoiceField = forms.ModelChoiceField(
        label=_("Board"), queryset=None, required=False, empty_label=_("the stack")
    )

    field_order = ["values", "wood_temperature_c", "meter_set_to", "board", "taken_on"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        boards = self.stack.boards.all()
        self.fields["board"].queryset = boards  # type: ignore[attr-defined]
        if not boards:
            del self.fields["board"]

    def raw(self) -> list[float]:
        return self.cleaned_data["values"]

    def visit(self) -> dict[str, Any]:
        return {**super().visit(), "board": self.cleaned_data.get("board")}


class PinsForm(MeterForm):
    """Values off a pin meter, with what they are corrected for."""

    wood_temperature_c = NumberField(
        label=_("Wood temperature"),
        unit="°C",
        required=False,
        min_value=-20,
        max_value=50,
        error_messages={
            "min_value": _("Wood colder than %(limit)s can't be read with pins."),
            "max_value": _("Wood warmer than %(limit)s can't be read with pins; is it °F?"),
        },
    )
    meter_set_to = forms.ChoiceField(
        label=_("Meter set to"),
        required=False,
        help_text=_(
            "The wood of the meter's scale, if it is one of these; else no correction for the species is made."
        ),
    )

    def __init__(self, *args: Any, usual_c: float | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["meter_set_to"].choices = [("", _("not said")), *outlook.meter_scales()]  # type: ignore[attr-defined]
        assumed = 20 if usual_c is None else round(usual_c)
        said = _("Left empty, %(assumed)s is taken, the season's mean here.") % {"assumed": celsius(assumed)}
        temperature = self.fields["wood_temperature_c"]
        temperature.help_text = said
        temperature.widget.attrs |= {
            "data-keypad-input": "one",
            "data-keypad-signed": "",
            "placeholder": figure(assumed, 0, TEMPERATURE),
        }

    def visit(self) -> dict[str, Any]:
        names = ("wood_temperature_c", "meter_set_to")
        return {**super().visit(), **{name: self.cleaned_data[name] for name in names}}
