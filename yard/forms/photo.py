"""A photo of a stack."""

from django import forms
from django.utils.translation import gettext_lazy as _


class PhotoForm(forms.Form):
    photo = forms.FileField(
        label=_("Photo"),
        widget=forms.FileInput(attrs={"accept": "image/*"}),
        error_messages={"required": _("Take or choose a photo first.")},
    )
