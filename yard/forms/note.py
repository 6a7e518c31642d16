"""What is worth remembering about a stack."""

from django import forms
from django.utils.translation import gettext_lazy as _


class NoteForm(forms.Form):
    note = forms.CharField(
        label=_("Note"),
        max_length=2000,
        help_text=_("It goes into the history under today's date; nothing is overwritten."),
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": _("Write what is to be remembered.")},
    )
