"""A species as the owner may change or add it."""

from typing import Any

from django import forms
from django.utils.text import capfirst, slugify
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.fields.numbers import NumberField
from yard.measures.system import imperial
from yard.measures.told import mm, mm_to
from yard.models import Species

BOUNDS: dict[str, tuple[Any, float, float]] = {
    "basic_density_kg_m3": ("kg/m³", 100, 1300),
    "green_heartwood_pct": ("%", 20, 250),
    "green_sapwood_pct": ("%", 20, 250),
    "shrinkage_radial_pct": ("%", 0.5, 15),
    "shrinkage_tangential_pct": ("%", 1, 25),
    "shrinkage_volumetric_pct": ("%", 2, 30),
    "permeability": ("", 1, 5),
    "rate": ("", 0.03, 3),
    "rate_log_sd": ("", 0.1, 1.5),
    "safe_rate_pct_per_day": (_("% a day"), 0.5, 40),
}
"""Of each figure its unit and bounds beyond which no wood is known: a choice, to catch a slip of the finger."""


PUBLISHED_FOR = {
    "safe_rate_pct_per_day": (_("safe loss of boards of %(size)s, %% a day"), (25.4,)),
    "schedule_25mm": (_("kiln schedule, %(size)s"), (25.4, 38.1)),
    "schedule_50mm": (_("kiln schedule, %(size)s"), (50.8,)),
}
"""What columns with metric names are to a reader of inches: the sizes that their figures are published for."""


def column_words(name: str) -> str:
    """What a column is called, in its reader's units."""
    if name not in PUBLISHED_FOR or not imperial():
        return str(Species._meta.get_field(name).verbose_name)  # type: ignore[union-attr]
    words, sizes = PUBLISHED_FOR[name]
    return str(words) % {"size": mm_to(*sizes) if len(sizes) > 1 else mm(sizes[0])}


HELP = {
    "permeability": _("1 where free water moves slowly, as in oak, to 5, as in pine sapwood."),
    "rate": _("How fast it dries beside the model's own reckoning; 0.35 where nothing is known."),
    "rate_log_sd": _("How unsure that is: 0.45 for a known wood, 0.6 for an unknown one."),
}


class SpeciesForm(forms.ModelForm):
    class Meta:
        model = Species
        fields = [
            "name",
            "latin_name",
            "region",
            "wood_class",
            "drying_group",
            *BOUNDS,
            "schedule_25mm",
            "schedule_50mm",
            "meter_key",
        ]
        error_messages = {"name": {"unique": _("There is a species of this name already.")}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["name"] = self.instance.name  # as it is read; kept, it stays the book's own
        for name, (unit, least, most) in BOUNDS.items():
            self.fields[name] = self._figure(name, unit, least, most)
        curves = outlook.meter_curves()
        field = forms.ChoiceField(
            label=self.fields["meter_key"].label, required=False, choices=[("", _("none")), *curves]
        )
        self.fields["meter_key"] = field
        for name in ("schedule_25mm", "schedule_50mm"):
            self.fields[name].label = capfirst(column_words(name))
        self.fields["permeability"].help_text = _(
            "1 where free water moves slowly, as in oak, to 5, as in pine sapwood."
        )
        self.fields["rate"].help_text = _(
            "How fast it dries beside the model's own reckoning; 0.35 where nothing is known."
        )
        self.fields["rate_log_sd"].help_text = _("How unsure that is: 0.45 for a known wood, 0.6 for an unknown one.")

    def _figure(self, name: str, unit: Any, least: float, most: float) -> NumberField:
        column: Any = Species._meta.get_field(name)
        default = None if column.null else (column.default if column.has_default() else None)
        return NumberField(
            label=capfirst(column_words(name).split(",")[0]),
            unit=unit,
            required=not column.null,
            min_value=least,
            max_value=most,
            initial=default,
        )

    def clean_schedule_25mm(self) -> str:
        return _schedule_code(self.cleaned_data["schedule_25mm"])

    def clean_schedule_50mm(self) -> str:
        return _schedule_code(self.cleaned_data["schedule_50mm"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.instance.pk and "name" in cleaned:
            self.instance.key = slugify(cleaned["name"]).replace("-", "_")[:60]
            if not self.instance.key:
                self.add_error("name", _("Write the name in Latin letters."))
            elif Species.objects.filter(key=self.instance.key).exists():
                self.add_error("name", _("There is a species of nearly this name already."))
        return cleaned


def _schedule_code(text: str) -> str:
    try:
        return outlook.schedule_code(text)
    except ValueError as error:
        raise forms.ValidationError(
            _("No published schedule is called that. Codes look like T4-D2; leave it empty for the group's schedule.")
        ) from error
