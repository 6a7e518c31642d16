"""Several numbers in one field, a blank between, as they are read off a meter or a rule."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

_NUMBER = re.compile(r"\d+(\.\d*)?|\.\d+")


class NumbersField(forms.CharField):
    """ "8,1 7.9 8" to [8.1, 7.9, 8.0], each between `least` and `most`; shown again as it was typed."""

    default_error_messages = {
        "none": _("“%(text)s” is no number. Put a blank between two values, like 8.1 7.9 8."),
        "outside": _("%(text)s is outside %(least)g to %(most)g; is a digit or a point missing?"),
        "many": _("%(count)d values at once is more than the %(most)d that are kept."),
    }

    def __init__(self, *, least: float, most: float, most_values: int = 250, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least, self.most, self.most_values = least, most, most_values
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off", "data-keypad-input": "many"}

    def to_python(self, value: Any) -> Any:
        words = re.split(r"[\s;]+", str(super().to_python(value) or "").strip())
        found = [self._number(word.strip(",")) for word in words if word.strip(",")]
        if len(found) > self.most_values:
            raise self._refusal("many", count=len(found), most=self.most_values)
        return found

    def _number(self, word: str) -> float:
        text = word.replace(",", ".").replace("\u202f", "")
        if not _NUMBER.fullmatch(text):
            raise self._refusal("none", text=word)
        if not self.least <= float(text) <= self.most:
            raise self._refusal("outside", text=word, least=self.least, most=self.most)
        return float(text)

    def _refusal(self, code: str, **shown: Any) -> ValidationError:
        return ValidationError(self.error_messages[code], code, shown)
