from django import forms
from django.contrib.auth import get_user_model
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.utils.translation import gettext_lazy as _


class PersonForm(forms.Form):
    """A new person; the password is made, not typed."""

    name = forms.CharField(label=_("Name to sign in with"), max_length=150, validators=[UnicodeUsernameValidator()])
    owner = forms.BooleanField(label=_("Owner: may change kilns, places, species and people"), required=False)

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        if get_user_model().objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(_("Somebody has this name already; choose another."))
        return name
