"""Where a stack goes."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.models import Place, Stack


class MoveForm(forms.Form):
    """The place is a button; out of a kiln (`was`, where it stood) one says whether the wood is dry."""

    place = forms.ModelChoiceField(
        Place.objects.filter(given_up=False),
        error_messages={
            "required": _("Tap the place where it stands now."),
            "invalid_choice": _("That place is no longer used; tap another."),
        },
    )
    kiln_dried = forms.BooleanField(
        label=_("It is kiln-dried"), required=False, help_text=_("Then it is stock, and no longer forecast.")
    )

    def __init__(self, *args: Any, stack: Stack, was: Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stack = stack
        if not was.is_kiln or stack.kiln_dried_on:
            del self.fields["kiln_dried"]
