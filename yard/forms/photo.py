"""A photo of a stack."""

from django import forms
from django.utils.translation import gettext_lazy as _


class DeletePhotoForm(forms.Form):
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("It stays in the history, with your name. The picture can't be brought back."),
        error_messages={"required": _("Say why it is deleted for good; the reason stays in the history.")},
    )


class PhotoForm(forms.Form):
    photo = forms.FileField(
        label=_("Photo"),
        widget=forms.FileInput(attrs={"accept": "image/*"}),
        error_messages={"required": _("Take or choose a photo first.")},
    )
