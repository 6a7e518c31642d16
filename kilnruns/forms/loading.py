"""Checking stacks in and out by their tags."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.models import Board, Place, Stack, Tag
from yard.models.tagcode import TagCodeError, check


class TagForm(forms.Form):
    """A tag's code, typed or scanned, to its stack: a board's own tag leads to the stack that the board lies in.

    `board` is the board whose tag it was, once the form is cleaned.
    """

    board: Board | None = None

    code = forms.CharField(
        label=_("Tag"),
        help_text=_("Type the code under the QR, or scan the tag with the phone's camera and come back by its page."),
        widget=forms.TextInput(attrs={"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"}),
    )

    def clean_code(self) -> Stack:
        try:
            code = check(self.cleaned_data["code"])
        except TagCodeError as error:
            raise forms.ValidationError(self._hint(error)) from error
        tag = Tag.objects.found(code)  # a replaced one still knows its stack or board
        self.board = tag.board if tag else None
        stack = self.board.stack if self.board else getattr(tag, "stack", None)
        if stack is None:
            raise forms.ValidationError(_("No stack bears this tag."))
        return stack.at_last

    def _hint(self, error: TagCodeError) -> Any:
        if error.code == "length":
            return _("A code has ten characters; this has %(count)d.") % {"count": len(error.text)}
        if error.code == "character":
            return _("No code has a “%(character)s” in it; look again.") % {"character": error.character}
        return _("One character is wrong, or two neighbours are swapped; look again.")


class UnloadForm(TagForm):
    """A tag's code and where the dry stack goes."""

    place = forms.ModelChoiceField(
        label=_("It goes to"), queryset=Place.objects.outdoors(), empty_label=None, widget=forms.RadioSelect
    )
