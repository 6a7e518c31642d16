"""What of the yard is listed, and in what order."""

from typing import Any

from django import forms
from django.db.models import Exists, OuterRef
from django.utils.translation import gettext_lazy as _

from yard.fields.naming import NamesField
from yard.measures.told import thick
from yard.models import Place, Species, Stack


class YardFilter(forms.Form):
    """All fields may be empty. An unknown value in the address is left out rather than refused."""

    STATES = [
        ("", _("all")),
        ("ready", _("ready for the kiln")),
        ("drying", _("still drying")),
        ("never", _("never dry enough where they stand")),
        ("kiln", _("in a kiln")),
        ("dried", _("kiln-dried")),
        ("gone", _("used up")),
    ]
    text = forms.CharField(label=_("Tag, species or note"), required=False, max_length=80)
    species: forms.ModelChoiceField = NamesField(
        label=_("Species"), queryset=None, required=False, empty_label=_("all")
    )
    thickness = forms.ChoiceField(label=_("Thickness"), required=False)
    place: forms.ModelChoiceField = forms.ModelChoiceField(
        label=_("Place"), queryset=None, required=False, empty_label=_("all")
    )
    state = forms.ChoiceField(label=_("State"), choices=STATES, required=False)
    due = forms.BooleanField(label=_("Due a reading first"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        here = Stack.objects.filter(joined_into=None)
        species, places = here.filter(species=OuterRef("pk")), here.filter(place=OuterRef("pk"))
        self.fields["species"].queryset = Species.objects.filter(Exists(species))  # type: ignore[attr-defined]
        self.fields["place"].queryset = Place.objects.filter(Exists(places))  # type: ignore[attr-defined]
        sizes = Stack.objects.thicknesses_mm()
        choices = [("", _("all")), *((f"{size:g}", thick(size)) for size in sizes)]
        self.fields["thickness"].choices = choices  # type: ignore[attr-defined]

    def wanted(self) -> dict[str, Any]:
        """The values asked for, without the empty and the unknown ones."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "", False)}
