"""Numbers as people type them: with a comma or a point, in a plain text field, with their unit beside it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

_PLAIN_SIGNS = str.maketrans(
    {"’": "'", "′": "'", "‘": "'", "”": '"', "″": '"', "“": '"', ",": ".", "\u202f": " ", "\u00a0": " "}
)


def tidy(text: Any) -> str:
    """What was typed, with a point for a comma and plain quotes."""
    return str(text).translate(_PLAIN_SIGNS).strip()


def plain(number: float) -> str:
    """A number without needless zeros: 2500, 2.5, 0.42."""
    return f"{round(number, 3):f}".rstrip("0").rstrip(".")


class NumberField(forms.FloatField):
    """A plain number, with a comma or a point, kept in the words in which it was typed."""

    def __init__(self, *, unit: Any = "", **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.TextInput())
        super().__init__(**kwargs)
        self.unit = unit
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> Any:
        return super().to_python(tidy(value).replace(" ", "") if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:
        return plain(value) if isinstance(value, int | float) else value


class WholeField(NumberField):
    """A whole number: millimetres, steps."""

    default_error_messages = {"whole": _("Give a whole number.")}

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs["inputmode"] = "numeric"

    def to_python(self, value: Any) -> Any:
        number = super().to_python(value)
        if number is None:
            return None
        if not float(number).is_integer():
            raise forms.ValidationError(self.error_messages["whole"], "whole")
        return int(number)
