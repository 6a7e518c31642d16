"""A board with a tag of its own."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.tagcode import TagCodeField
from yard.forms.sizes import LengthField, WidthField
from yard.forms.tag import StackChoice


class BoardForm(forms.Form):
    """One board: its size, what is special about it, and the blank tag at hand, if there is one."""

    length = LengthField(label=_("Length"), hint=True)
    width = WidthField(label=_("Width"), unit="mm")
    note = forms.CharField(label=_("What is special"), max_length=200, required=False)
    code = TagCodeField(
        label=_("Code of its tag"),
        required=False,
        help_text=_("Of a blank tag at hand. Leave it empty to print a fresh one."),
    )

    def sizes(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        return {"length_mm": cleaned["length"], "width_mm": cleaned["width"], "note": cleaned["note"]}


class BoardOfStackForm(BoardForm):
    """The same from a blank tag's side: the tag is known, the stack is chosen."""

    stack = StackChoice(label=_("In which stack?"), empty_label=_("Choose the stack"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["code"]
        self.order_fields(["stack"])
