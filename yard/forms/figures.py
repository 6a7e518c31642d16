"""What the calculators' forms have in common: a figure between two bounds, and an answer with its words."""

from collections.abc import Mapping
from typing import Any, ClassVar, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField, local, plain
from yard.measures import system, told
from yard.measures.quantities import SIZE, TEMPERATURE, of_unit
from yard.measures.system import IMPERIAL
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

    def get_bound_field(self, form: Any, field_name: str) -> Any:
        """The widget's words are in the reader's units."""
        bound = super().get_bound_field(form, field_name)
        unit = self.measure.unit(self.system) if self.measure else None
        said = {"least": self.least, "most": self.most, "else": self.otherwise}
        told = {f"data-{name}": plain(unit.of(si) if unit else si) for name, si in said.items() if si is not None}
        if unit and self.system == IMPERIAL:
            told |= {"data-per": f"{unit.per!r}", "data-zero": f"{unit.zero!r}"}
        if self.otherwise is not None:
            told["placeholder"] = local(unit.of(self.otherwise) if unit else self.otherwise)
        self.widget.attrs |= told | {"data-unit": self.unit}
        return bound

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
        unit = self.measure.unit(system.typed()) if self.measure else None
        shown, least, most = (
            signed(unit.of(one) if unit else one) if isinstance(one, int | float) else one
            for one in (value, self.least, self.most)
        )
        limits = {"least": least, "most": most, "unit": unit.name if unit else self.unit}
        return ValidationError(self.error_messages[code], code, {"value": shown, **limits})


def signed(number: float) -> str:
    """With a minus sign, not a hyphen."""
    return plain(number).replace("-", "−")


REFUSED_IN = {"swapped": TEMPERATURE, "too_dry": TEMPERATURE, "dew_above": TEMPERATURE, "too_small": SIZE}


def refusal_words(words: Words, units: str) -> str:
    """In inches and °F where these were typed."""
    said = str(words)
    return said.replace("°C", "°F").replace("{lacking} mm", "{lacking} in") if units == IMPERIAL else said


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
                measure = REFUSED_IN.get(error.code)
                unit = measure.unit(system.typed()) if measure else None
                figures = {name: unit.of(value) if unit else value for name, value in error.figures.items()}
                words = refusal_words(self.refusals[error.code], system.typed()).format_map(
                    {name: signed(round(value, 1)) for name, value in figures.items()}
                )
                self.add_error(error.field_name, words)
        return self.cleaned_data

    def shown(self) -> list[dict[str, Any]]:
        """Each output with its figure as text; "" where there is none."""
        figures = self.found.figures if self.found else {}
        return [{**out._asdict(), **_units(out), "text": _text(out, figures.get(out.name))} for out in self.outputs]

    def said(self) -> list[dict[str, Any]]:
        """Each note's words, and whether it holds for the answer."""
        codes = self.found.notes if self.found else ()
        return [{"code": code, "words": words, "holds": code in codes} for code, words in self.notes.items()]


def _units(out: Output) -> dict[str, str]:
    """The reader's unit, and how its figures come of metric ones; as text, since templates would put it in words."""
    measure = of_unit(out.unit)
    if not measure or not system.imperial():
        return {"unit": str(out.unit)}
    unit = measure.unit()
    return {"unit": unit.name, "per": repr(unit.per), "zero": repr(unit.zero)}


def _text(out: Output, value: float | None) -> str:
    if value is None:
        return ""
    measure = of_unit(out.unit)
    return with_unit(measure.unit().of(value) if measure else value, out.decimals, told.unit_of(str(out.unit)))
