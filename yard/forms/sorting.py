"""What a person says becomes of a form that the yard could not place."""

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.fields.tagcode import TagCodeField


class BelongsForm(forms.Form):
    """The stack that it is about."""

    code = TagCodeField(label=_("Code of its stack"))


class UnderTagForm(forms.Form):
    """The tag that it gets."""

    code = TagCodeField(
        label=_("Code of a blank tag"),
        required=False,
        help_text=_("One at hand. Leave it empty, and a fresh one is made to print."),
    )


class DropForm(forms.Form):
    """Nothing is dropped without a reason."""

    reason = forms.CharField(label=_("Why it is dropped"), max_length=200)
