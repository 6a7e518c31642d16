"""A sample board: cut out of the stack, weighed, its sections dried in the oven, then weighed again and again."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.fields.numbers import NumberField
from yard.forms.weighed import WETTEST_PCT
from yard.models import SampleBoard, Stack

SECTIONS = (1, 2)


class SampleForm(forms.ModelForm):
    """One section from each end tells the board's moisture when cut, and so its oven-dry mass."""

    green_mass_g = NumberField(label=_("Mass when cut"), unit="g", min_value=1)

    class Meta:
        model = SampleBoard
        fields = ["label", "green_mass_g", "made_on"]
        widgets = {"made_on": forms.DateInput({"type": "date"})}

    def __init__(self, *args: Any, stack: Stack, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stack = stack
        for number in SECTIONS:
            for part, words in (("wet", _("Section %(n)d, wet")), ("dry", _("Section %(n)d, oven-dry"))):
                field = NumberField(label=words % {"n": number}, unit="g", required=number == 1, min_value=0.1)
                self.fields[f"{part}_{number}"] = field

    def clean_label(self) -> str:
        label = self.cleaned_data["label"].strip()
        if self.stack.sample_boards.filter(label__iexact=label).exists():
            raise ValidationError(_("This stack has a sample board %(label)s already.") % {"label": label})
        return label

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for number in SECTIONS:
            self._check(number, cleaned.get(f"wet_{number}"), cleaned.get(f"dry_{number}"))
        return cleaned

    def _check(self, number: int, wet: float | None, dry: float | None) -> None:
        if wet is None or dry is None:
            if wet is not None or dry is not None:
                self.add_error(f"{'wet' if wet is None else 'dry'}_{number}", _("The other mass is missing."))
        elif wet < dry:
            self.add_error(f"dry_{number}", _("Oven-dry it can't weigh more than wet; are the two swapped?"))
        elif (wet / dry - 1) * 100 > WETTEST_PCT:
            self.add_error(f"dry_{number}", _("No wood is that wet; is a digit wrong?"))

    def sections(self) -> list[list[float]]:
        pairs = [[self.cleaned_data.get(f"{part}_{number}") for part in ("wet", "dry")] for number in SECTIONS]
        return [[wet, dry] for wet, dry in pairs if wet is not None and dry is not None]

    def save(self, commit: bool = True) -> SampleBoard:
        board = super().save(commit=False)
        board.stack, board.section_masses_g = self.stack, self.sections()
        board.oven_dry_mass_g = outlook.oven_dry_mass_g(board.green_mass_g, board.section_masses_g)
        if commit:
            board.save()
        return board
