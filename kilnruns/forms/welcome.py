"""The first page of an empty yard: its owner, its mill, a place."""

from typing import Any

from django import forms
from django.contrib.auth.forms import BaseUserCreationForm
from django.utils.translation import gettext_lazy as _

from yard.models import Mill, Place, PlaceKind
from yard.models.keptwords import of_climate
from yard.outlook import climate_presets


class OwnerForm(BaseUserCreationForm):
    """The owner's name and password, by Django's own rules for both."""


class MillForm(forms.ModelForm):
    class Meta:
        model = Mill
        fields = ["name", "currency"]


class FirstPlaceForm(forms.ModelForm):
    """A place with a climate from the presets; the twelve values can be typed in later."""

    preset = forms.ChoiceField(label=_("Climate"), help_text=_("Invented, typical climates. Type in your own later."))

    class Meta:
        model = Place
        fields = ["name", "kind"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.presets = {preset.key: preset for preset in climate_presets()}
        self._offer("preset", [(key, preset.name) for key, preset in self.presets.items()])
        self._offer("kind", [(key, label) for key, label in PlaceKind.choices if key != PlaceKind.KILN])

    def _offer(self, name: str, choices: list[tuple[str, Any]]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = choices

    def save(self, commit: bool = True) -> Place:
        preset = self.presets[self.cleaned_data["preset"]]
        self.instance.temperatures_c = list(preset.temperatures_c)
        self.instance.humidities_pct = list(preset.humidities_pct)
        self.instance.altitude_m = preset.altitude_m
        self.instance.climate_note = of_climate(preset.key)
        return super().save(commit)
