"""Checking stacks in and out by their tags."""

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.tagcode import TagCodeField
from yard.models import Board, Place, Stack, Tag


class TagForm(forms.Form):
    """A tag's code, typed or scanned, to its stack: a board's own tag leads to the stack that the board lies in.

    `board` is the board whose tag it was, once the form is cleaned.
    """

    board: Board | None = None

    code = TagCodeField(
        label=_("Tag"),
        help_text=_("Type the code under the QR, or scan the tag with the phone's camera and come back by its page."),
    )

    def clean_code(self) -> Stack:
        tag = Tag.objects.found(self.cleaned_data["code"])  # a replaced one still knows its stack or board
        self.board = tag.board if tag else None
        stack = self.board.stack if self.board else getattr(tag, "stack", None)
        if stack is None:
            raise forms.ValidationError(_("No stack bears this tag."))
        return stack.at_last


class UnloadForm(TagForm):
    """A tag's code and where the dry stack goes."""

    place = forms.ModelChoiceField(
        label=_("It goes to"), queryset=Place.objects.outdoors(), empty_label=None, widget=forms.RadioSelect
    )
