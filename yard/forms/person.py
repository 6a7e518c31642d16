"""People: added by an owner, or by themselves on an invitation."""

from typing import Any

from django import forms
from django.contrib.auth import get_user_model, password_validation
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.utils.translation import gettext_lazy as _

from yard.actions.people import is_taken
from yard.actions.roles import OWNER
from yard.models import Role

ROLES = [(OWNER, _("owner: kilns, places, prices, people, too")), *Role.choices]


def _name_field() -> forms.CharField:
    return forms.CharField(label=_("Name to sign in with"), max_length=150, validators=[UnicodeUsernameValidator()])


def _role_field(choices: Any, **more: Any) -> forms.ChoiceField:
    return forms.ChoiceField(label=_("What they do"), choices=choices, widget=forms.RadioSelect, **more)


class PersonForm(forms.Form):
    """A new person; the password is made, not typed."""

    name = _name_field()
    role = _role_field(ROLES, initial=Role.HAND)

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if is_taken(name):
            raise forms.ValidationError(_("Somebody has this name already; choose another."))
        return name


class RoleForm(forms.Form):
    role = _role_field(ROLES)


class InviteForm(forms.Form):
    """Owners are added by hand: a link may be passed on."""

    role = _role_field(Role.choices, initial=Role.HAND)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # it stands on one page with PersonForm, whose labels would lead to these choices
        super().__init__(*args, **{"auto_id": "invite_%s", **kwargs})


class TakeInvitationForm(PersonForm):
    """Who was invited chooses a name and a password."""

    password = forms.CharField(
        label=_("Password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}, render_value=True),
        help_text=_("Ten characters or more: three short words are easy to type with gloves."),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["role"]

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        named = get_user_model()(username=self.cleaned_data.get("name", ""))
        password_validation.validate_password(password, named)
        return password
