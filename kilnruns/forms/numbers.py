"""Numbers as people type them: with a comma or a point, in a plain text field, with their unit beside it."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

SPACES = str.maketrans({",": ".", "\u202f": "", "\u00a0": "", " ": ""})


class NumberField(forms.FloatField):
    """Stays as it was typed when it can't be read: a number input would lose it."""

    widget = forms.TextInput
    unit: Any = ""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs |= {"inputmode": "decimal", "autocomplete": "off"}

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.translate(SPACES) if isinstance(value, str) else value)

    def prepare_value(self, value: Any) -> Any:
        return f"{value:g}" if isinstance(value, float) else value


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
