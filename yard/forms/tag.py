"""Forms for tags: a code typed or photographed, the sheet to print, the stack that a tag shall hang on."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from yard.actions.photos import open_picture
from yard.actions.tags import MOST_AT_ONCE
from yard.fields.limits import LimitedIntegerField
from yard.fields.numbers import NumberField
from yard.fields.tagcode import TagCodeField
from yard.labels import SHEETS, Sheet, label_printer
from yard.measures.told import thick
from yard.models import Stack
from yard.models.tagcode import shown

LABEL_PRINTER = {"label-stack": 2, "label-board": 1}
"""Choices that want a size, with the symbols on their label."""


class ScanForm(forms.Form):
    """A code, or a photo of a tag."""

    code = TagCodeField(label=gettext_lazy("Code under the tag"), required=False)
    photo = forms.FileField(
        label=gettext_lazy("Photo of the tag"),
        required=False,
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )

    def clean_photo(self) -> Any:
        photo = self.cleaned_data["photo"]
        return open_picture(photo) if photo else None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not cleaned.get("code") and cleaned.get("photo") is None:
            self.add_error("code", _("Type the ten characters under the tag, or take a photo of it."))
        return cleaned


class LabelForm(forms.Form):
    """On which paper, or which label printer's label. `sheet` is the choice as yard.labels wants it."""

    paper = forms.ChoiceField(label=gettext_lazy("Paper"))
    width = NumberField(label=gettext_lazy("Label's width"), unit="mm", min_value=20, max_value=420, required=False)
    height = NumberField(label=gettext_lazy("Label's height"), unit="mm", min_value=20, max_value=420, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        sheets = [(key, sheet.name) for key, sheet in SHEETS.items()]
        printer = [("label-stack", _("Label printer, stack tags")), ("label-board", _("Label printer, board tags"))]
        self.fields["paper"].choices = [*sheets, *printer]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("paper") in LABEL_PRINTER:
            for name in ("width", "height"):
                if cleaned.get(name) is None and name not in self.errors:
                    self.add_error(name, _("A label printer needs the label's size."))
        return cleaned

    @property
    def sheet(self) -> Sheet:
        paper = self.cleaned_data["paper"]
        if paper in LABEL_PRINTER:
            return label_printer(self.cleaned_data["width"], self.cleaned_data["height"], LABEL_PRINTER[paper])
        return SHEETS[paper]


class SheetForm(LabelForm):
    """How many blank tags."""

    count = LimitedIntegerField(
        label=gettext_lazy("How many tags"),
        min_value=1,
        max_value=MOST_AT_ONCE,
        initial=8,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    again = forms.BooleanField(
        label=gettext_lazy("Print blank tags again that were made before"),
        required=False,
        help_text=gettext_lazy("The newest first; for a sheet lost or spoiled. Never hang the same tag twice."),
    )


class StackChoice(forms.ModelChoiceField):
    """One of the standing stacks, the newest first."""

    def __init__(self, **kwargs: Any) -> None:
        stacks = Stack.objects.standing().select_related("species", "place").order_by("-made_at")
        super().__init__(stacks, **kwargs)

    def label_from_instance(self, stack: Any) -> str:
        return f"{stack.species} {thick(stack.thickness_mm)} · {stack.place} · {shown(stack.code)}"


class ReplacesForm(forms.Form):
    """The stack whose tag was lost."""

    stack = StackChoice(label=gettext_lazy("Which stack lost its tag?"), empty_label=gettext_lazy("Choose the stack"))


class RetagForm(forms.Form):
    """A blank tag at hand, or none: then a fresh one is made to print."""

    code = TagCodeField(
        label=gettext_lazy("Code of the new tag"),
        required=False,
        help_text=gettext_lazy("Of a blank tag at hand. Leave it empty to print a fresh one."),
    )
