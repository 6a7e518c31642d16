"""Readings by weighing: oven-dry sections and sample boards."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from yard.fields.numbers import NumberField
from yard.forms.visit import VisitForm

WETTEST_PCT = 250
SECTIONS = 6


class SectionsForm(VisitForm):
    """Pairs of masses of sections cut out, weighed wet and oven-dry."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, SECTIONS + 1):
            self.fields[f"wet_{number}"] = _mass(_("%(number)d, wet"), number)
            self.fields[f"dry_{number}"] = _mass(_("%(number)d, oven-dry"), number)

    def pairs(self) -> list[tuple[Any, Any]]:
        """The bound fields of each section, wet and oven-dry."""
        return [(self[f"wet_{number}"], self[f"dry_{number}"]) for number in range(1, SECTIONS + 1)]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for number in range(1, SECTIONS + 1):
            self._check(number, cleaned.get(f"wet_{number}"), cleaned.get(f"dry_{number}"))
        if not self.errors and not self.raw():
            self.add_error("wet_1", _("Weigh at least one section, wet and oven-dry."))
        return cleaned

    def _check(self, number: int, wet: float | None, dry: float | None) -> None:
        if f"wet_{number}" in self.errors or f"dry_{number}" in self.errors or (wet is None and dry is None):
            return
        if wet is None or dry is None:
            lacking = "wet" if wet is None else "dry"
            self.add_error(f"{lacking}_{number}", _("The other mass of this section is missing."))
        elif wet < dry:
            self.add_error(f"dry_{number}", _("Oven-dry it can't weigh more than wet; are the two swapped?"))
        elif (wet / dry - 1) * 100 > WETTEST_PCT:
            share = {"pct": round((wet / dry - 1) * 100)}
            self.add_error(f"dry_{number}", _("That would be %(pct)d %% moisture; no wood is that wet.") % share)

    def raw(self) -> list[list[float]]:
        both = [[self.cleaned_data.get(f"{part}_{n}") for part in ("wet", "dry")] for n in range(1, SECTIONS + 1)]
        return [[wet, dry] for wet, dry in both if wet is not None and dry is not None]


class WeighingForm(VisitForm):
    """The masses of the stack's sample boards today; those not weighed are left empty."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sample_boards = list(self.stack.sample_boards.all())
        for board in self.sample_boards:
            shown = {"label": board.label, "dry": f"{board.oven_dry_mass_g:.0f}"}
            field = NumberField(label=_("Board %(label)s") % shown, unit="g", required=False, min_value=0.1)
            words = _("Oven-dry it would weigh %(dry)s g.")
            if board.provisional:
                words = _("Oven-dry it would weigh some %(dry)s g, by a meter: its sections are still in the oven.")
            field.help_text = words % shown
            field.widget.attrs |= {"data-keypad-input": "one"}
            self.fields[f"mass_{board.pk}"] = field

    def masses(self) -> list[Any]:
        return [self[f"mass_{board.pk}"] for board in self.sample_boards]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for board in self.sample_boards:
            self._check(f"mass_{board.pk}", cleaned.get(f"mass_{board.pk}"), board.oven_dry_mass_g)
        if not self.errors and not self.raw():
            self.add_error(None, _("Weigh at least one board."))
        return cleaned

    def _check(self, name: str, mass_g: float | None, dry_g: float) -> None:
        if mass_g is None:
            return
        if mass_g < dry_g:
            self.add_error(name, _("Lighter than it would be oven-dry; another board, or g and kg mixed up?"))
        elif (mass_g / dry_g - 1) * 100 > WETTEST_PCT:
            self.add_error(name, _("Too heavy for this board; another board?"))

    def raw(self) -> list[float]:
        return [mass for _board, mass in self._weighed()]

    def visit(self) -> dict[str, Any]:
        return {**super().visit(), "sample_labels": [board.label for board, _mass in self._weighed()]}

    def _weighed(self) -> list[tuple[Any, float]]:
        masses = [(board, self.cleaned_data.get(f"mass_{board.pk}")) for board in self.sample_boards]
        return [(board, mass) for board, mass in masses if mass is not None]


def _mass(label: Any, number: int) -> NumberField:
    field = NumberField(label=label % {"number": number}, unit="g", required=False, min_value=0.1)
    field.widget.attrs |= {"data-keypad-input": "one"}
    return field
