"""One visit to a running kiln: everything optional, but not all of it empty."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from kilnruns.models import Charge, Fans, Phase
from yard.fields.numbers import NumberField, WholeField
from yard.fields.values import ValuesField
from yard.measures.told import thick
from yard.models import SampleBoard, Stack
from yard.models.tagcode import shown

WETTEST_PCT = 250
SEEN = ("phase", "step", "dry_bulb_c", "wet_bulb_c", "humidity_pct", "vents_pct", "fans", "heater_steps", "meter_kwh")
PIN_VALUES = 12
BY_METER = _("%(wood)s. Provisional, by the meter: its sections are still in the oven.")


def _number(label: Any, unit: Any, low: float, high: float, kind: type[NumberField] = NumberField) -> NumberField:
    field = kind(label=label, required=False, min_value=low, max_value=high)
    field.unit = unit
    return field


def wood_of(stack: Stack) -> str:
    """As a field is called by it: "European ash 32 mm"."""
    return f"{capfirst(stack.species.name)} {thick(stack.thickness_mm)}"


class RunRecordForm(forms.Form):
    """What was seen and what was set; `charge` None makes the form of the page that the phone draws."""

    dry_bulb_c = _number(_("Dry bulb"), _("°C"), -20, 110)
    wet_bulb_c = _number(_("Wet bulb"), _("°C"), -20, 100)
    humidity_pct = _number(_("or humidity"), "%", 1, 100)
    vents_pct = _number(_("Vents open"), "%", 0, 100, WholeField)
    meter_kwh = _number(_("Power meter"), "kWh", 0, 1e7)
    heater_steps = _number(_("Heater steps on"), "", 0, 12, WholeField)
    fans = forms.ChoiceField(label=_("Fans"), required=False, choices=[("", _("as they were")), *Fans.choices])
    phase = forms.ChoiceField(label=_("Set to"), required=False, choices=[("", _("nothing changed")), *Phase.choices])
    step = _number(_("Step of the schedule"), "", 1, 40, WholeField)
    note = forms.CharField(label=_("Note"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))
    photo = forms.FileField(label=_("Photo"), required=False, widget=forms.FileInput(attrs={"accept": "image/*"}))

    def __init__(
        self,
        *args: Any,
        charge: Charge | None = None,
        stacks: Iterable[Stack] = (),
        pins_left: Mapping[int, int] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.charge, self.stacks, self.pins_left = charge, list(stacks), pins_left or {}
        boards = (board for stack in self.stacks for board in stack.sample_boards.all())
        self.boards: list[SampleBoard] = sorted(boards, key=lambda board: board.label)
        for board in self.boards:
            words = {"label": board.label, "dry": f"{board.oven_dry_mass_g:.0f}", "wood": wood_of(board.stack)}
            field = _number(_("Board %(label)s") % words, "g", 0.1, 1e6)
            field.help_text = (
                BY_METER if board.provisional else _("%(wood)s. Oven-dry it would weigh %(dry)s g.")
            ) % words
            self.fields[f"mass_{board.pk}"] = field
        for stack in self.stacks:
            pins = ValuesField(
                label=_("%(wood)s %(code)s") % {"wood": capfirst(stack.species.name), "code": shown(stack.code)},
                least=2,
                most=WETTEST_PCT,
                most_values=PIN_VALUES,
                required=False,
            )
            if stack.pk in self.pins_left:
                at = self.pins_left[stack.pk]
                pins.help_text = ngettext("Pins stay in it at %(n)d place.", "Pins stay in it at %(n)d places.", at) % {
                    "n": at
                }
            pins.widget.attrs["inputmode"] = "text"  # no keypad of ours here, and a decimal one has no blank
            self.fields[f"pins_{stack.pk}"] = pins

    def of_others(self) -> list[str]:
        """Masses and pins that were sent for what this form does not know: they would be lost without a word."""
        sent = [name for name, value in self.data.items() if name.startswith(("mass_", "pins_")) and value.strip()]
        return [name for name in sent if name not in self.fields]

    def masses(self) -> list[Any]:
        return [self[f"mass_{board.pk}"] for board in self.boards]

    def pins(self) -> list[Any]:
        """Of stacks in which none were left."""
        return [self[f"pins_{stack.pk}"] for stack in self.stacks if stack.pk not in self.pins_left]

    def pins_that_stay(self) -> list[Any]:
        return [self[f"pins_{stack.pk}"] for stack in self.stacks if stack.pk in self.pins_left]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        self._check_air(cleaned)
        self._check_settings(cleaned)
        for board in self.boards:
            self._check_mass(board, cleaned.get(f"mass_{board.pk}"))
        if not self.errors and all(value in (None, "", []) for value in cleaned.values()):
            self.add_error(None, _("Note at least one thing: a mass, the air, what you changed, or a few words."))
        return cleaned

    def _check_air(self, cleaned: dict[str, Any]) -> None:
        dry, wet, humidity = (cleaned.get(name) for name in ("dry_bulb_c", "wet_bulb_c", "humidity_pct"))
        if wet is not None and dry is not None and wet > dry:
            self.add_error("wet_bulb_c", _("The wet bulb is never warmer than the dry one; are the two swapped?"))
        if wet is not None and humidity is not None:
            self.add_error("humidity_pct", _("Give the wet bulb or the humidity, not both."))
        if dry is None and "dry_bulb_c" not in self.errors and (wet is not None or humidity is not None):
            self.add_error("dry_bulb_c", _("The dry bulb is missing: without it the air can't be told."))

    def _check_settings(self, cleaned: dict[str, Any]) -> None:
        on, step, steps = cleaned.get("heater_steps"), cleaned.get("step"), self._steps()
        if self.charge and on is not None and on > self.charge.kiln.heater_phases:
            most = {"n": self.charge.kiln.heater_phases}
            self.add_error("heater_steps", _("This kiln's heater has %(n)d.") % most)
        if step is not None and steps and step > steps:
            self.add_error("step", _("This schedule has %(n)d steps.") % {"n": steps})
        if step is not None and cleaned.get("phase", "") not in ("", Phase.DRYING):
            self.add_error("step", _("A step is of the drying alone; leave it empty in another phase."))

    def _steps(self) -> int:
        return len(self.charge.course.get("steps", [])) if self.charge else 0

    def _check_mass(self, board: SampleBoard, mass_g: float | None) -> None:
        if mass_g is None:
            return
        if mass_g < board.oven_dry_mass_g:
            words = _("Lighter than it would be oven-dry; another board, or g and kg mixed up?")
            if board.provisional:
                words = _("Lighter than the meter made it oven-dry: weigh its sections dry first, and give those.")
            self.add_error(f"mass_{board.pk}", words)
        elif (mass_g / board.oven_dry_mass_g - 1) * 100 > WETTEST_PCT:
            self.add_error(f"mass_{board.pk}", _("Too heavy for this board; another board?"))

    def visit(self) -> dict[str, Any]:
        """The keyword arguments of `keep_record` that this form knows."""
        typed = self.cleaned_data
        seen = {name: typed[name] for name in (*SEEN, "note")}
        if seen["step"] is not None:
            seen["phase"] = Phase.DRYING
        masses = {board: typed[f"mass_{board.pk}"] for board in self.boards}
        pins = {stack: typed[f"pins_{stack.pk}"] for stack in self.stacks}
        return {
            "seen": seen,
            "masses_g": {board: mass for board, mass in masses.items() if mass is not None},
            "pins_pct": {stack: values for stack, values in pins.items() if values},
            "photo": typed["photo"],
        }


class RunPhotoForm(forms.Form):
    photo = forms.FileField(
        label=_("Photo"),
        widget=forms.FileInput(attrs={"accept": "image/*"}),
        error_messages={"required": _("Take or choose a photo first.")},
    )


class VoidRecordForm(forms.Form):
    reason = forms.CharField(
        label=_("What was wrong?"),
        max_length=200,
        error_messages={"required": _("Say in a few words what was wrong, so that others know later.")},
    )
