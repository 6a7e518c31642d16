"""A place with its climate: a packaged one at one tap, or twelve months typed in."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.dates import MONTHS
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.fields.numbers import NumberField
from yard.models import Place, PlaceKind
from yard.models.keptwords import of_climate

TYPED = "typed"


class PlaceForm(forms.ModelForm):
    kind = forms.ChoiceField(
        label=_("Kind"),
        choices=[
            (PlaceKind.OPEN_YARD, _("open yard: stacks under covers of their own")),
            (PlaceKind.UNCOVERED, _("open yard: rain falls on the stacks")),
            (PlaceKind.ROOFED_SHED, _("roofed shed, open at the sides")),
            (PlaceKind.CLOSED_STORE, _("closed store")),
        ],
        widget=forms.RadioSelect,
    )
    kind_since = forms.DateField(
        label=_("If its kind changed: since when"),
        required=False,
        widget=forms.DateInput({"type": "date"}),
        help_text=_("A shed closed for the winter, a row that got covers. Left empty, it was never anything else."),
    )
    preset = forms.ChoiceField(
        label=_("Climate"),
        widget=forms.RadioSelect,
        help_text=_("Those named are invented, to start with; the months of your nearest weather station are better."),
        error_messages={"required": _("Choose a climate, or type the twelve months below.")},
    )
    altitude_m = NumberField(label=_("Altitude"), unit="m", required=False, min_value=-400, max_value=4500)

    class Meta:
        model = Place
        fields = ["name", "kind", "preset", "altitude_m", "climate_note", "given_up"]
        error_messages = {"name": {"unique": _("Another place has this name.")}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.presets = {preset.key: preset for preset in outlook.climate_presets()}
        chosen = [(key, one.name) for key, one in self.presets.items()]
        typed = _("as typed below, month by month")
        self.fields["preset"].choices = [*chosen, (TYPED, typed)]  # type: ignore[attr-defined]
        self.initial["climate_note"] = self.instance.climate_note
        self.fields["climate_note"].label = _("Where the months' values come from")
        for month in MONTHS:
            self._add_month(month)
        self.kind_before = self.instance.kind
        if not self.instance.pk:
            del self.fields["given_up"], self.fields["kind_since"]

    def _add_month(self, month: int) -> None:
        place = self.instance
        for name, values, least, most, unit in (
            ("temperature", place.temperatures_c, -40, 50, "°C"),
            ("humidity", place.humidities_pct, 5, 100, "%"),
        ):
            field = NumberField(label=MONTHS[month], unit=unit, required=False, min_value=least, max_value=most)
            field.initial = values[month - 1] if len(values) == 12 else None
            self.fields[f"{name}_{month}"] = field

    def months(self) -> list[tuple[Any, Any, Any]]:
        """Of each month its name and two bound fields."""
        return [(MONTHS[n], self[f"temperature_{n}"], self[f"humidity_{n}"]) for n in MONTHS]

    @property
    def months_have_errors(self) -> bool:
        return any(name.startswith(("temperature_", "humidity_")) for name in self.errors)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("preset") == TYPED:
            self._check_months(cleaned)
        if cleaned.get("kind_since") and cleaned.get("kind"):
            self._check_since(cleaned)
        if cleaned.get("given_up") and self.instance.stacks.standing().exists():
            self.add_error("given_up", _("Stacks still stand here; move them first."))
        return cleaned

    def _check_since(self, cleaned: dict[str, Any]) -> None:
        since = cleaned["kind_since"]
        if cleaned["kind"] == self.kind_before:
            self.add_error("kind_since", _("The kind is the same as before. Choose another, or leave the day empty."))
        elif since > timezone.localdate():
            self.add_error("kind_since", _("This day has not been yet."))
        elif self.instance.former_kinds.filter(until__gte=since).exists():
            self.add_error("kind_since", _("It changed later than that already; take that change back first."))

    def _check_months(self, cleaned: dict[str, Any]) -> None:
        names = [f"{part}_{month}" for month in MONTHS for part in ("temperature", "humidity")]
        empty = [name for name in names if cleaned.get(name) is None and name not in self.errors]
        if len(empty) == len(names):
            self.add_error("preset", _("Choose a climate, or type the twelve months below."))
            return
        for name in empty:
            self.add_error(name, _("Missing: all twelve months are needed."))

    def save(self, commit: bool = True) -> Place:
        """The place with its climate set; the caller keeps it by `yard.actions.places.keep_place`."""
        place = super().save(commit=False)
        preset = self.presets.get(self.cleaned_data["preset"])
        place.altitude_m = self.cleaned_data["altitude_m"] or 0
        if preset:
            place.temperatures_c, place.humidities_pct = list(preset.temperatures_c), list(preset.humidities_pct)
            place.climate_note = of_climate(preset.key)
        else:
            place.temperatures_c = [self.cleaned_data[f"temperature_{month}"] for month in MONTHS]
            place.humidities_pct = [self.cleaned_data[f"humidity_{month}"] for month in MONTHS]
        return place
