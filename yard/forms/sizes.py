"""Fields for sizes as people type them: metres or millimetres, feet and inches, comma or point."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from drying.units import MM_PER_FOOT, MM_PER_INCH
from yard.fields.measured import FigureInput, Measured
from yard.fields.numbers import local, plain, tidy
from yard.measures import system, typed
from yard.measures.quantities import SIZE
from yard.measures.system import IMPERIAL

MOST_FEET, LEAST_INCHES = 24, 60
"""A bare length: up to 24 feet, from 60 on inches; between them nobody can say. A choice."""


class SizeField(Measured, forms.CharField):
    """A size in mm between two bounds, typed in mm or inches. Subclasses say what a bare number means."""

    given = SIZE
    whole = True

    default_error_messages = {
        "none": _("“%(text)s” is no size; write a number, like %(example)s."),
        "range": _("%(shown)s is not between %(least)s and %(most)s; is the unit right?"),
    }
    example, example_in = "150", "5 1/2"

    def __init__(self, *, least_mm: float, most_mm: float, unit: str = "", **kwargs: Any) -> None:
        kwargs.setdefault("widget", FigureInput())
        super().__init__(**kwargs)
        self.least_mm, self.most_mm, self.unit = least_mm, most_mm, unit
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> Any:
        text = tidy(super().to_python(value) or "")
        if not text:
            return None
        mm = typed.read(text, SIZE, system.typed())
        if mm is None or mm < 0:
            example = self.example_in if system.typed() == IMPERIAL else self.example
            raise ValidationError(self.error_messages["none"], "none", {"text": text, "example": example})
        bare = typed.number(text)
        if bare:
            mm = self.meant_in(bare[0], text) if system.typed() == IMPERIAL else self.meant(mm, text)
        if not self.least_mm <= mm <= self.most_mm:
            limits = {"least": self.limit(self.least_mm, bare=True), "most": self.limit(self.most_mm)}
            raise ValidationError(self.error_messages["range"], "range", {"shown": self.limit(mm), **limits})
        return self.rounded(mm)

    def meant(self, number: float, text: str) -> float:
        """The mm that a bare metric number means; raises ValidationError where it could mean two things."""
        return number

    def meant_in(self, number: float, text: str) -> float:
        """The mm that a bare imperial number means."""
        return typed.read(text, SIZE, IMPERIAL) or 0.0

    def rounded(self, mm: float) -> float:
        return round(mm)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int | float):
            return value
        return typed.text(value, SIZE, self.system or system.told(), whole=self.whole)


class LengthField(SizeField):
    """A board's length: a bare number up to 20 is metres, from 1000 on mm; between them nobody can say."""

    default_error_messages = {
        "feet": _("%(text)s could be feet or inches. Write its sign too: %(text)s' or %(text)s\"."),
        "ambiguous": _("%(text)s could be mm or cm. Write metres, like %(metres)s, or the unit: %(text)s mm."),
    }
    example, example_in = "2.5", "8' 6\""

    def __init__(self, *, least_mm: float = 200, most_mm: float = 20_000, hint: bool = False, **kwargs: Any) -> None:
        super().__init__(least_mm=least_mm, most_mm=most_mm, **kwargs)
        self.hint = hint

    @property
    def unit(self) -> Any:
        return "ft" if self.system == IMPERIAL and self.si_unit else self.si_unit

    @unit.setter
    def unit(self, unit: Any) -> None:
        self.si_unit = unit

    def get_bound_field(self, form: Any, field_name: str) -> Any:
        bound = super().get_bound_field(form, field_name)
        if self.hint and not bound.help_text:
            imperial = self.system == IMPERIAL
            bound.help_text = _("8' 6\" or 102 (inches)") if imperial else _("2.5 (m) or 2500 (mm)")
        return bound

    def meant_in(self, number: float, text: str) -> float:
        """Feet or inches."""
        if number <= MOST_FEET:
            return number * MM_PER_FOOT
        if number >= LEAST_INCHES:
            return number * MM_PER_INCH
        raise ValidationError(self.error_messages["feet"], "feet", {"text": text})

    def meant(self, number: float, text: str) -> float:
        if number >= 1000:
            return number
        if number <= 20:
            return number * 1000
        metres = plain(number / (10 if number < 100 else 100))
        raise ValidationError(self.error_messages["ambiguous"], "ambiguous", {"text": text, "metres": metres})

    def prepare_value(self, value: Any) -> Any:
        """Kept lengths are shown in metres, or in feet and inches."""
        if not isinstance(value, int | float):
            return value
        if (self.system or system.told()) == IMPERIAL:
            return typed.text(value, SIZE, IMPERIAL, whole=True, feet=True)
        return local(value / 1000)


class WidthField(SizeField):
    """A board's width: a bare number is mm, but below 30 it was hardly meant so."""

    default_error_messages = {
        "ambiguous": _("%(text)s mm wide? Write the width in mm, like %(mm)s, or with its unit, like %(text)s cm."),
    }

    def __init__(self, *, least_mm: float = 20, most_mm: float = 1500, **kwargs: Any) -> None:
        super().__init__(least_mm=least_mm, most_mm=most_mm, **kwargs)

    def meant(self, number: float, text: str) -> float:
        if number >= 30:
            return number
        mm = plain(number * (1000 if number < 1.5 else 10))
        raise ValidationError(self.error_messages["ambiguous"], "ambiguous", {"text": text, "mm": mm})


class ThicknessField(SizeField):
    """A thickness in mm, with decimals."""

    example, example_in, whole = "27", "1 1/8", False

    def rounded(self, mm: float) -> float:
        return round(mm, 2) if round(mm, 2) == round(mm, 6) else round(mm, 10)
