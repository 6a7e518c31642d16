"""What the calculators' forms have in common: a figure between two bounds, and an answer with its words."""

from collections.abc import Mapping
from typing import Any, ClassVar, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField, plain
from yard.outlook.tools import Answer, RefusedError
from yard.templatetags.amounts import with_unit

Words = str | Promise


class FigureField(NumberField):
    """A figure from `least` to `most`, told with the range where it is outside; `otherwise` stands for an empty one.

    The widget bears the same for static/js/tools.js, which checks it without reception.
    """

    default_error_messages = {
        "required": _("Write a number from %(least)s to %(most)s %(unit)s."),
        "invalid": _("Write a number from %(least)s to %(most)s %(unit)s."),
        "range": _("%(value)s %(unit)s is outside %(least)s to %(most)s %(unit)s."),
    }

    def __init__(self, *, least: float, most: float, otherwise: float | None = None, **kwargs: Any) -> None:
        kwargs.setdefault("required", otherwise is None)
        super().__init__(**kwargs)
        self.least, self.most, self.otherwise = least, most, otherwise
        self.widget.attrs |= {"data-least": plain(least), "data-most": plain(most), "data-unit": self.unit}
        if otherwise is not None:
            self.widget.attrs |= {"data-else": plain(otherwise), "placeholder": plain(otherwise)}

    def clean(self, value: Any) -> Any:
        try:
            found = super().clean(value)
        except ValidationError as error:
            raise self._refusal(error.code or "invalid", value) from None
        if found is None:
            return self.otherwise
        if not self.least <= found <= self.most:
            raise self._refusal("range", found)
        return found

    def _refusal(self, code: str, value: Any) -> ValidationError:
        code = code if code in ("required", "range") else "invalid"
        shown = plain(value) if isinstance(value, float) else value
        limits = {"least": signed(self.least), "most": signed(self.most), "unit": self.unit}
        return ValidationError(self.error_messages[code], code, {"value": shown, **limits})


def signed(number: float) -> str:
    """With a minus sign, not a hyphen."""
    return plain(number).replace("-", "−")


class Output(NamedTuple):
    """One figure of an answer: its name, what it is, its unit and decimals."""

    name: str
    label: Words
    unit: Words
    decimals: int


class ToolForm(forms.Form):
    """A calculator: its fields, and the words around its answer. Codes of notes and refusals are the reader's.

    `refusals` have {name} for the reader's figures, as the phone's pages fill them in too.
    """

    key: ClassVar[str]
    title: ClassVar[Words]
    lead: ClassVar[Words]
    outputs: ClassVar[tuple[Output, ...]]
    notes: ClassVar[Mapping[str, Words]] = {}
    refusals: ClassVar[Mapping[str, Words]] = {}
    sources: ClassVar[tuple[Words, ...]]
    limits: ClassVar[Words]
    caution: ClassVar[str] = ""
    button: ClassVar[Words] = _("Reckon")
    by_copy: ClassVar[bool] = False

    def __init__(self, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, auto_id="tool_%s", **kwargs)
        self.found: Answer | None = None

    def compute(self, given: dict[str, Any]) -> Answer:
        raise NotImplementedError

    def clean(self) -> dict[str, Any] | None:
        if not self.errors:
            try:
                self.found = self.compute(self.cleaned_data)
            except RefusedError as error:
                words = str(self.refusals[error.code]).format_map(
                    {name: signed(round(value, 1)) for name, value in error.figures.items()}
                )
                self.add_error(error.field_name, words)
        return self.cleaned_data

    def shown(self) -> list[dict[str, Any]]:
        """Each output with its figure as text; "" where there is none."""
        figures = self.found.figures if self.found else {}
        return [{**out._asdict(), "text": _text(out, figures.get(out.name))} for out in self.outputs]

    def said(self) -> list[dict[str, Any]]:
        """Each note's words, and whether it holds for the answer."""
        codes = self.found.notes if self.found else ()
        return [{"code": code, "words": words, "holds": code in codes} for code, words in self.notes.items()]


def _text(out: Output, value: float | None) -> str:
    return "" if value is None else with_unit(value, out.decimals, str(out.unit))
