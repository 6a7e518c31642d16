"""A paper to issue: which kind, to whom, for what, and what it states; and why one is withdrawn."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from kilnruns.models import PaperKind
from kilnruns.papers.facts import STATES, Wish
from yard.fields.numbers import NumberField
from yard.fields.tagcode import TagCodeField
from yard.models.tagcode import TagCodeError, check

MOST_ITEMS = 6
"""Packs on one paper, so that one page holds them in a type that can be read."""
STATE_WORDS = dict(
    zip(
        STATES,
        (
            _("Moisture: mean, spread, method, day"),
            _("Kiln run: days, highest temperature, stress test"),
            _("Quality by EN 14298, with how many boards it rests on"),
        ),
        strict=True,
    )
)


class CodesField(TagCodeField):
    """Several tags' codes, a blank between."""

    def to_python(self, value: Any) -> Any:
        text = forms.CharField.to_python(self, value)
        found = []
        for word in str(text or "").replace(",", " ").replace(";", " ").split():
            try:
                found.append(check(word))
            except TagCodeError as error:
                message = _("“%(word)s” is no tag code. Write each without gaps inside, a blank between two.")
                raise forms.ValidationError(message, params={"word": word}) from error
        return found


class PaperForm(forms.Form):
    kind = forms.ChoiceField(
        label=_("Which paper"), choices=PaperKind, widget=forms.RadioSelect, initial=PaperKind.DELIVERY_NOTE
    )
    to = forms.CharField(
        label=_("To whom"),
        max_length=240,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("Name, address, order: as it shall stand on the paper."),
    )
    items = forms.MultipleChoiceField(
        label=_("For which stacks and boards"), widget=forms.CheckboxSelectMultiple, required=False
    )
    more = CodesField(
        label=_("Tags of more stacks or boards"), required=False, help_text=_("The codes, a blank between two.")
    )
    stated = forms.MultipleChoiceField(
        label=_("What it states, besides wood, sizes and volume"),
        choices=list(STATE_WORDS.items()),
        widget=forms.CheckboxSelectMultiple,
        required=False,
        initial=list(STATES),
    )
    depth_mm = NumberField(
        label=_("How deep the pins went"),
        unit="mm",
        required=False,
        validators=[MinValueValidator(1), MaxValueValidator(100)],
        help_text=_("If you know. It is said to be your word; without it the paper says that it was not noted."),
    )
    note = forms.CharField(label=_("Note"), max_length=300, required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, items: Iterable[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["items"].choices = list(items)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind = cleaned.get("kind")
        if kind == PaperKind.DELIVERY_NOTE and not cleaned.get("to") and "to" not in self.errors:
            self.add_error("to", _("A delivery note needs a name: to whom does the wood go?"))
        if kind == PaperKind.DRY_CERTIFICATE and "moisture" not in cleaned.get("stated", ()):
            self.add_error("stated", _("A dry certificate states the moisture: tick it, or take a delivery note."))
        if not self.errors.keys() & {"items", "more"} and not self.codes:
            self.add_error("items", _("Tick at least one."))
        elif len(self.codes) > MOST_ITEMS:
            message = _("One page holds %(most)d stacks or boards; make two papers.")
            self.add_error("items", forms.ValidationError(message, params={"most": MOST_ITEMS}))
        return cleaned

    @property
    def codes(self) -> list[str]:
        """What was ticked and typed, each once."""
        return list(dict.fromkeys([*self.cleaned_data.get("items", ()), *self.cleaned_data.get("more", ())]))

    def wish(self) -> Wish:
        cleaned = self.cleaned_data
        lines = [line.strip() for line in cleaned["to"].splitlines()]
        return Wish(
            kind=cleaned["kind"],
            to="\n".join(line for line in lines if line),
            stated=tuple(cleaned["stated"]),
            note=" ".join(cleaned["note"].split()),
            depth_mm=cleaned["depth_mm"],
        )


class WithdrawForm(forms.Form):
    why = forms.CharField(
        label=_("Why it is withdrawn"),
        max_length=200,
        help_text=_(
            "Kept with the paper and printed on it. Whoever has its link is told that it was withdrawn, not why."
        ),
    )
