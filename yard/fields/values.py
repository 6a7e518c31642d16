"""Several numbers in one field, as they are read off a meter or a rule: parted by blanks, with a comma or a point."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from yard.fields.measured import FigureInput, Measured
from yard.fields.numbers import local, plain, tidy
from yard.measures import system, typed

_NUMBER = re.compile(r"\d+(\.\d*)?|\.\d+")


class NumbersField(Measured, forms.CharField):
    """Numbers between two bounds: "24,1 22.6 25" to [24.1, 22.6, 25.0]. A blank, a semicolon or a line parts them."""

    default_error_messages = {
        "none": _("“%(text)s” is no number. Put a blank between two values, like 24.1 22.6 25."),
        "low": _("%(text)s is outside %(least)g to %(most)g; is a digit or a point missing?"),
        "high": _("%(text)s is outside %(least)g to %(most)g; was it %(hint)s?"),
        "range": _("%(text)s is outside %(least)s to %(most)s."),
        "many": _("%(count)d values at once is more than the %(most)d that are kept; is a blank too many?"),
    }

    def __init__(self, *, least: float, most: float, most_values: int = 250, unit: Any = "", **kwargs: Any) -> None:
        kwargs.setdefault("widget", FigureInput())
        super().__init__(**kwargs)
        self.unit = unit
        self.least, self.most, self.most_values = least, most, most_values
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off", "data-keypad-input": "many"}

    def to_python(self, value: Any) -> Any:
        words = re.split(r"[\s;]+", str(super().to_python(value) or "").strip())
        found = [self._number(word.strip(",")) for word in words if word.strip(",")]
        if len(found) > self.most_values:
            raise self._refusal("many", count=len(found), most=self.most_values)
        return found

    def _number(self, word: str) -> float:
        if self.measure:
            return self._measured(word)
        text = tidy(word)
        if not _NUMBER.fullmatch(text):
            raise self._refusal("none", text=word)
        number = float(text)
        limits = {"least": self.least, "most": self.most}
        if number < self.least:
            raise self._refusal("low", text=word, **limits)
        if number > self.most:
            raise self._refusal("high", text=word, hint=_misplaced(number, self.most), **limits)
        return number

    def _measured(self, word: str) -> float:
        assert self.measure
        number = typed.read(word, self.measure, system.typed())
        limits = {"least": self.limit(self.least), "most": self.limit(self.most)}
        if number is None:
            raise self._refusal("none", text=word)
        if not self.least <= number <= self.most:
            raise self._refusal("range", text=word, **limits)
        return number

    def _refusal(self, code: str, **shown: Any) -> ValidationError:
        return ValidationError(self.error_messages[code], code, shown)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, list):
            return value
        if not self.measure:
            return " ".join(map(local, value))
        shown = [typed.text(one, self.measure, self.system or system.told()) for one in value]
        return " ".join(one.replace(" ", "-") for one in shown)


class ValuesField(NumbersField):
    """Moistures off a meter, %."""

    default_error_messages = {
        "low": _("%(text)s %% is less than any meter shows; is a digit missing?"),
        "high": _("%(text)s %% can't be; was it %(hint)s?"),
    }

    def __init__(self, *, most_values: int = 60, **kwargs: Any) -> None:
        super().__init__(most_values=most_values, **kwargs)


def _misplaced(number: float, most: float) -> str:
    """The number with its decimal point moved left until it could be one."""
    while number > most:
        number /= 10
    return plain(number)
