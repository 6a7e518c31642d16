"""Language and units, chosen by each person for themselves."""

from typing import Any

from django import forms
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from yard.models import UnitSystem


class NamedInItself(forms.RadioSelect):
    """Each language in its own words, marked as such, so that it is found by who reads no other."""

    option_template_name = "components/language_option.html"


class LanguageForm(forms.Form):
    language = forms.ChoiceField(label=_("Language"), required=False, widget=NamedInItself)
    units = forms.ChoiceField(label=_("Units"), choices=UnitSystem, widget=forms.RadioSelect)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["language"].choices = [("", _("as the browser says")), *settings.LANGUAGES]  # type: ignore[attr-defined]
