"""A visit's reading, one form for each method, and the form that voids one."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.forms.metered import MeterForm, PinsForm
from yard.forms.visit import VisitForm
from yard.forms.weighed import SectionsForm, WeighingForm
from yard.models import Method, keptwords

FORMS: dict[str, type[VisitForm]] = {
    Method.PINS: PinsForm,
    Method.CAPACITANCE: MeterForm,
    Method.OVEN_DRY: SectionsForm,
    Method.SAMPLE_BOARD: WeighingForm,
}
"""Each yields by `visit()` what `yard.actions.readings.add_reading` wants of it."""


class VoidForm(forms.Form):
    """Why a reading was wrong; the usual reasons at one tap."""

    KEPT: Mapping[str, str] = keptwords.VOIDED
    USUAL = {**{why: _(words) for why, words in KEPT.items()}, "other": _("Something else")}
    why = forms.ChoiceField(
        label=_("What was wrong?"),
        choices=list(USUAL.items()),
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose one, so that others know later.")},
    )
    words = forms.CharField(label=_("In your words"), required=False, max_length=120)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("why") == "other" and not cleaned.get("words"):
            self.add_error("words", _("Say in a few words what was wrong."))
        return cleaned

    def reason(self) -> str:
        why, words = self.cleaned_data["why"], self.cleaned_data["words"]
        if why == "other":
            return words
        return keptwords.with_words(self.KEPT[why], words)
