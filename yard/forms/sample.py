"""A sample board: cut out of the stack, weighed, its sections dried in the oven, then weighed again and again."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.fields.numbers import NumberField, plain
from yard.fields.values import ValuesField
from yard.forms.weighed import WETTEST_PCT
from yard.models import SampleBoard, Stack

SECTIONS = (1, 2)
METER_HELP = _("Above about 30 % pins are a guess: give the oven-dry masses here as soon as you have them.")


class SampleForm(forms.ModelForm):
    """One section from each end tells the board's moisture when cut, and so its oven-dry mass.

    While both are still in the oven, pin values stand in for them.
    """

    green_mass_g = NumberField(label=_("Mass when cut"), unit="g", min_value=1)

    class Meta:
        model = SampleBoard
        fields = ["label", "green_mass_g", "made_on"]
        widgets = {"made_on": forms.DateInput({"type": "date"})}

    def __init__(self, *args: Any, stack: Stack, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stack = stack
        words = _("Or pins in the board, meanwhile")
        meter = ValuesField(label=words, required=False, help_text=METER_HELP, least=2, most=WETTEST_PCT)
        meter.unit = "%"
        self.fields["meter"] = meter
        for number in SECTIONS:
            for part, words in (("wet", _("Section %(n)d, wet")), ("dry", _("Section %(n)d, oven-dry"))):
                field = NumberField(
                    label=words % {"n": number}, unit="g", required=(number, part) == (1, "wet"), min_value=0.1
                )
                self.fields[f"{part}_{number}"] = field

    def clean_label(self) -> str:
        label = self.cleaned_data["label"].strip()
        if self.stack.sample_boards.filter(label__iexact=label).exists():
            raise ValidationError(_("This stack has a sample board %(label)s already.") % {"label": label})
        return label

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if self._in_oven():
            self._check_meter(cleaned)
        else:
            for number in SECTIONS:
                self._check(number, cleaned.get(f"wet_{number}"), cleaned.get(f"dry_{number}"))
        return cleaned

    def _in_oven(self) -> bool:
        """Whether the sections are not dry yet: no oven-dry mass at all."""
        return not any(str(self[f"dry_{number}"].value() or "").strip() for number in SECTIONS)

    def _check_meter(self, cleaned: dict[str, Any]) -> None:
        if not cleaned.get("meter") and "meter" not in self.errors:
            words = _("Give the oven-dry mass or, while the sections are in the oven, what the pins in the board say.")
            self.add_error("dry_1", words)

    def _check(self, number: int, wet: float | None, dry: float | None) -> None:
        if wet is None or dry is None:
            if wet is not None or dry is not None:
                self.add_error(f"{'wet' if wet is None else 'dry'}_{number}", _("The other mass is missing."))
        elif fault := impossible(wet, dry):
            self.add_error(f"dry_{number}", fault)

    def sections(self) -> list[list[float | None]]:
        pairs = [[self.cleaned_data.get(f"{part}_{number}") for part in ("wet", "dry")] for number in SECTIONS]
        return [[wet, dry] for wet, dry in pairs if wet is not None]

    def save(self, commit: bool = True) -> SampleBoard:
        board = super().save(commit=False)
        board.stack, board.section_masses_g = self.stack, self.sections()
        board.oven_dry_mass_g = self._oven_dry_g(board)
        if commit:
            board.save()
        return board

    def _oven_dry_g(self, board: SampleBoard) -> float:
        if board.provisional:
            values = self.cleaned_data["meter"]
            return outlook.oven_dry_mass_by_meter_g(board.green_mass_g, values, self.stack, board.made_on)
        return outlook.oven_dry_mass_g(board.green_mass_g, board.section_masses_g)


class SectionsDryForm(forms.Form):
    """The oven-dry masses of a provisional board's sections, which make its weighings good."""

    def __init__(self, *args: Any, board: SampleBoard, **kwargs: Any) -> None:
        super().__init__(*args, **{"prefix": f"board{board.pk}", **kwargs})
        self.board = board
        for number, (wet, _dry) in enumerate(board.section_masses_g, 1):
            field = NumberField(label=_("Section %(n)d, oven-dry") % {"n": number}, unit="g", min_value=0.1)
            field.help_text = _("Wet it weighed %(wet)s g.") % {"wet": plain(wet)}
            self.fields[f"dry_{number}"] = field

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for number, (wet, _dry) in enumerate(self.board.section_masses_g, 1):
            dry = cleaned.get(f"dry_{number}")
            if dry is not None and (fault := impossible(wet, dry)):
                self.add_error(f"dry_{number}", fault)
        return cleaned

    @property
    def masses_g(self) -> list[float]:
        return [self.cleaned_data[name] for name in self.fields]


def impossible(wet: float, dry: float) -> Any:
    """What is wrong with a section's two masses, in words; "" where nothing is."""
    if wet < dry:
        return _("Oven-dry it can't weigh more than wet; are the two swapped?")
    return _("No wood is that wet; is a digit wrong?") if (wet / dry - 1) * 100 > WETTEST_PCT else ""
