"""Fields for sizes as people type them: metres or millimetres, feet and inches, comma or point."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from drying import units
from yard.fields.numbers import plain, tidy

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "ft": units.MM_PER_FOOT,
    "'": units.MM_PER_FOOT,
    "in": units.MM_PER_INCH,
    '"': units.MM_PER_INCH,
}
_NUMBER = r"(\d+(?:\.\d+)?|\.\d+)"
_WITH_UNIT = re.compile(rf"{_NUMBER}\s*(mm|cm|m|ft|in|'|\")", re.IGNORECASE)
_FEET_AND_INCHES = re.compile(rf"{_NUMBER}\s*(?:ft|')\s*{_NUMBER}\s*(?:in|\")?", re.IGNORECASE)


def mm_of(text: str) -> tuple[float, bool] | None:
    """The size in mm and whether a unit was typed (else the bare number); None for no size. `text` is tidied."""
    both = _FEET_AND_INCHES.fullmatch(text)
    if both:
        return float(both[1]) * units.MM_PER_FOOT + float(both[2]) * units.MM_PER_INCH, True
    one = _WITH_UNIT.fullmatch(text)
    if one:
        return float(one[1]) * MM_PER_UNIT[one[2].lower()], True
    return (float(text), False) if re.fullmatch(_NUMBER, text) else None


class SizeField(forms.CharField):
    """A size in mm between two bounds. Subclasses say what a bare number means."""

    default_error_messages = {
        "none": _("“%(text)s” is no size; write a number, like %(example)s."),
        "range": _("%(shown)s is not between %(least)s and %(most)s mm; is the unit right?"),
    }
    example = "150"

    def __init__(self, *, least_mm: float, most_mm: float, unit: str = "", **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least_mm, self.most_mm, self.unit = least_mm, most_mm, unit
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> Any:
        text = tidy(super().to_python(value) or "")
        if not text:
            return None
        size = mm_of(text)
        if size is None:
            raise ValidationError(self.error_messages["none"], "none", {"text": text, "example": self.example})
        mm = self.meant(*size, text)
        if not self.least_mm <= mm <= self.most_mm:
            limits = {"least": plain(self.least_mm), "most": plain(self.most_mm)}
            raise ValidationError(self.error_messages["range"], "range", {"shown": f"{plain(mm)} mm", **limits})
        return self.rounded(mm)

    def meant(self, number: float, has_unit: bool, text: str) -> float:
        """The mm that a number means; raises ValidationError where it could mean two things."""
        return number

    def rounded(self, mm: float) -> float:
        return round(mm)

    def prepare_value(self, value: Any) -> Any:
        return plain(value) if isinstance(value, int | float) else value


class LengthField(SizeField):
    """A board's length: a bare number up to 20 is metres, from 1000 on mm; between them nobody can say."""

    default_error_messages = {
        "ambiguous": _("%(text)s could be mm or cm. Write metres, like %(metres)s, or the unit: %(text)s mm."),
    }
    example = "2.5"

    def __init__(self, *, least_mm: float = 200, most_mm: float = 20_000, **kwargs: Any) -> None:
        super().__init__(least_mm=least_mm, most_mm=most_mm, **kwargs)

    def meant(self, number: float, has_unit: bool, text: str) -> float:
        if has_unit or number >= 1000:
            return number
        if number <= 20:
            return number * 1000
        metres = plain(number / (10 if number < 100 else 100))
        raise ValidationError(self.error_messages["ambiguous"], "ambiguous", {"text": text, "metres": metres})

    def prepare_value(self, value: Any) -> Any:
        """Kept lengths are shown in metres."""
        return plain(value / 1000) if isinstance(value, int | float) else value


class WidthField(SizeField):
    """A board's width: a bare number is mm, but below 30 it was hardly meant so."""

    default_error_messages = {
        "ambiguous": _("%(text)s mm wide? Write the width in mm, like %(mm)s, or with its unit, like %(text)s cm."),
    }

    def __init__(self, *, least_mm: float = 20, most_mm: float = 1500, **kwargs: Any) -> None:
        super().__init__(least_mm=least_mm, most_mm=most_mm, **kwargs)

    def meant(self, number: float, has_unit: bool, text: str) -> float:
        if has_unit or number >= 30:
            return number
        mm = plain(number * (1000 if number < 1.5 else 10))
        raise ValidationError(self.error_messages["ambiguous"], "ambiguous", {"text": text, "mm": mm})


class ThicknessField(SizeField):
    """A thickness in mm, with decimals."""

    example = "27"

    def rounded(self, mm: float) -> float:
        return round(mm, 2)
