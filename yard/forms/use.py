"""What a stack was used for."""

from django import forms
from django.utils.translation import gettext_lazy as _


class UseForm(forms.Form):
    for_what = forms.CharField(label=_("What for"), max_length=120, help_text=_("A job, a buyer, or firewood."))
