"""What fields of measured figures share: shown and typed in the person's units, SI to whoever asks the form."""

from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString

from yard.fields.limits import Limited, written
from yard.measures import quantities, system
from yard.measures.quantities import Measure
from yard.measures.system import IMPERIAL
from yard.measures.told import NARROW_SPACE


class FigureInput(forms.TextInput):
    """A text input that says in which units its figure is, where these are not metric."""

    system = system.METRIC

    def render(self, *args: Any, **kwargs: Any) -> SafeString:
        drawn = super().render(*args, **kwargs)
        if self.system != IMPERIAL:
            return drawn
        return format_html('{}<input type="hidden" name="{}" value="{}">', drawn, system.FIELD, self.system)


class Measured(Limited):
    """A mixin. `unit` is set to a metric unit, and told as its reader's; `measure` follows it or is given."""

    si_unit: Any = ""
    given: Measure | None = None
    system: str | None = None

    @property
    def measure(self) -> Measure | None:
        return self.given or quantities.of_unit(self.si_unit)

    @property
    def unit(self) -> Any:
        measure = self.measure
        return measure.unit(self.system).name if measure and self.si_unit else self.si_unit

    @unit.setter
    def unit(self, unit: Any) -> None:
        self.si_unit = unit

    def get_bound_field(self, form: Any, field_name: str) -> Any:
        """A form that was sent is shown again in the units in which it was typed."""
        self.system = system.typed() if form.is_bound else system.told()
        if self.measure and isinstance(self.widget, FigureInput):
            self.widget.system = self.system
        return super().get_bound_field(form, field_name)

    def limit(self, bound: float, *, bare: bool = False) -> str:
        """A bound, SI, in the units in which this form is typed, with its unit unless `bare`."""
        unit = self.measure.unit(system.typed()) if self.measure else None
        said, name = written(round(unit.of(float(bound)), 6) if unit else bound), unit.name if unit else self.si_unit
        return said if bare or not name else f"{said}{NARROW_SPACE}{name}"
