"""The codes of a second factor."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

WRONG = _("This code is wrong, old, or used already. Wait for the next one, then type it.")
ONCE = {"autocomplete": "one-time-code", "inputmode": "numeric"}
LETTERS = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}


class CodeForm(forms.Form):
    code = forms.CharField(label=_("Code from the app"), max_length=20)

    def __init__(self, *args: Any, recovery: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["code"]
        field.widget.attrs |= LETTERS if recovery else ONCE
        if recovery:
            field.label = _("Recovery code")


class ConfirmForm(CodeForm):
    """The password too: a phone left lying open must not be made somebody else's."""

    password = forms.CharField(
        label=_("Your password"), widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )

    def __init__(self, *args: Any, person: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        if not self.person.check_password(password):
            raise forms.ValidationError(_("This is not your password."))
        return password
