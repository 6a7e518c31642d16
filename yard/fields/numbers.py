"""Numbers as people type them: with a comma or a point, in a plain text field, with their unit beside it."""

import re
from math import isfinite
from typing import Any

from django import forms
from django.utils.formats import get_format
from django.utils.translation import gettext_lazy as _

from yard.fields.measured import FigureInput, Measured
from yard.measures import system, typed
from yard.measures.quantities import PRICE, Measure


def tidy(text: Any) -> str:
    """What was typed, with a point for the decimal sign, no thousands signs and plain quotes."""
    return typed.plain_text(str(text))


def plain(number: float) -> str:
    """A number without needless zeros: 2500, 2.5, 0.42."""
    return f"{round(number, 3):f}".rstrip("0").rstrip(".")


def local(number: float) -> str:
    """A number without needless zeros, with the locale's decimal sign."""
    return plain(number).replace(".", get_format("DECIMAL_SEPARATOR"))


class NumberField(Measured, forms.FloatField):
    """A number, with a comma or a point, kept in the words in which it was typed; one with a unit in the person's.

    `unit` is the metric one. `whole` figures are kept in whole metric units.
    """

    whole = False

    def __init__(self, *, unit: Any = "", measure: Measure | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("widget", FigureInput())
        super().__init__(**kwargs)
        self.unit, self.given = unit, measure
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> Any:
        if not isinstance(value, str):
            return super().to_python(value)
        if not self.measure or not value.strip():
            return super().to_python(tidy(value).replace(" ", ""))
        found = typed.read(value, self.measure, system.typed())
        if found is None or not isfinite(found):
            raise forms.ValidationError(self.error_messages["invalid"], "invalid")
        return found

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return value
        if not self.measure:
            return local(value)
        return typed.text(value, self.measure, self.system or system.told(), whole=self.whole)


class PriceField(NumberField):
    """Money a m³, or a board foot; the label names that as %(unit)s, `unit` the currency."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(measure=PRICE, **kwargs)

    @property
    def unit(self) -> Any:
        return self.si_unit

    @unit.setter
    def unit(self, unit: Any) -> None:
        self.si_unit = unit

    def get_bound_field(self, form: Any, field_name: str) -> Any:
        bound = super().get_bound_field(form, field_name)
        if "%(unit)s" in str(bound.label):
            bound.label = bound.label % {"unit": PRICE.unit(self.system).name}
        return bound

    def limit(self, bound: float, *, bare: bool = False) -> str:
        return local(PRICE.unit(system.typed()).of(bound))


class WholeField(NumberField):
    """A whole number: millimetres, steps."""

    whole = True

    default_error_messages = {"whole": _("Give a whole number.")}

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs["inputmode"] = "numeric"

    def to_python(self, value: Any) -> Any:
        number = super().to_python(value)
        if number is None:
            return None
        if self.measure and (system.typed() == system.IMPERIAL or re.search(r"[^\W\d]|[\"']", tidy(value))):
            return round(number)
        if not float(number).is_integer():
            raise forms.ValidationError(self.error_messages["whole"], "whole")
        return int(number)
