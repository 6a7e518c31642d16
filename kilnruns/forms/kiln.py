"""Forms for a kiln and the days it is closed."""

from typing import Any, ClassVar

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.translation import gettext_lazy as _

from kilnruns.models import Closure, Kiln
from yard.fields.numbers import NumberField, WholeField
from yard.measures.quantities import ROUND_WOOD
from yard.measures.told import celsius, mm
from yard.models import Place

# Bounds that catch a slipped decimal or metres typed for millimetres, not opinions about kilns.
SIZES_MM = {"length_mm": (500, 20000), "width_mm": (300, 10000), "height_mm": (200, 8000)}
RANGES = {
    **SIZES_MM,
    "longest_board_mm": (500, 20000),
    "largest_air_m3": (0.1, 2000),
    "blow_length_mm": (300, 10000),
    "sticker_mm": (6, 150),
    "max_temperature_c": (25, 100),
    "heater_kw": (0.1, 2000),
    "heater_phases": (1, 24),
    "fan_kw": (0, 200),
    "wall_u_w_m2k": (0.05, 6),
    "cost_per_day": (0, 10000),
    "price_per_kwh": (0, 5),
}
UNITS = {
    **dict.fromkeys([*SIZES_MM, "longest_board_mm", "blow_length_mm", "sticker_mm"], "mm"),
    "largest_air_m3": "m³",
    "max_temperature_c": "°C",
    "heater_kw": "kW",
    "fan_kw": "kW",
    "wall_u_w_m2k": "W/m²K",
}


class KilnForm(forms.ModelForm):
    """A kiln with its place's name. Every range is told at the field that leaves it."""

    name = forms.CharField(label=_("Name"), max_length=60)

    class Meta:
        model = Kiln
        fields = [
            "loading",
            "length_mm",
            "width_mm",
            "height_mm",
            "longest_board_mm",
            "sticker_mm",
            "largest_air_m3",
            "blow_length_mm",
            "max_temperature_c",
            "heater_kw",
            "heater_phases",
            "fan_kw",
            "wall_u_w_m2k",
            "humidifies",
            "may_split",
            "cost_per_day",
            "price_per_kwh",
        ]
        field_classes = {
            **dict.fromkeys([*SIZES_MM, "longest_board_mm", "blow_length_mm", "heater_phases"], WholeField),
            **dict.fromkeys(
                [
                    "sticker_mm",
                    "largest_air_m3",
                    "max_temperature_c",
                    "heater_kw",
                    "fan_kw",
                    "wall_u_w_m2k",
                    "cost_per_day",
                    "price_per_kwh",
                ],
                NumberField,
            ),
        }
        labels = {
            "length_mm": _("Stacking length"),
            "width_mm": _("Stacking width"),
            "height_mm": _("Stacking height"),
            "longest_board_mm": _("Longest board through the door"),
            "sticker_mm": _("Stickers"),
            "largest_air_m3": _("Largest air volume"),
            "blow_length_mm": _("Air blows at most"),
            "max_temperature_c": _("Highest temperature"),
            "heater_kw": _("Heater"),
            "heater_phases": _("Heater steps"),
            "fan_kw": _("Fans"),
            "wall_u_w_m2k": _("Heat through the walls"),
        }
        widgets = {"loading": forms.RadioSelect}
        help_texts = {
            "length_mm": _("The space for boards only: take off plenum, baffles and door clearance."),
            "longest_board_mm": _("Longest board that can be got in and turned into place."),
            "largest_air_m3": _("If the maker of the drying unit gives one: what is beyond it is closed off."),
            "blow_length_mm": _("If the maker gives it: the load is made no wider."),
            "max_temperature_c": _("What chamber, fans and wiring bear. Small warm kilns: not above %(most)s."),
            "heater_phases": _("In how many equal steps the heater can be switched."),
            "wall_u_w_m2k": _(
                "%(more)s of mineral wool gives about 0.4, %(less)s about 0.7 (rules of thumb, from memory)."
            ),
            "humidifies": _("Without it, vents can make the air drier, but only the wood makes it damper."),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        warm, walls = self.fields["max_temperature_c"], self.fields["wall_u_w_m2k"]
        warm.help_text = warm.help_text % {"most": celsius(70)}
        walls.help_text = walls.help_text % {"more": mm(100), "less": mm(50)}
        if self.instance.pk:
            self.fields["name"].initial = self.instance.place.name
        for name, (least, most) in RANGES.items():
            field = self.fields[name]
            field.validators += [MinValueValidator(least), MaxValueValidator(most)]
            if isinstance(field, NumberField):
                field.unit = UNITS.get(name, "")
                field.given = ROUND_WOOD if name == "largest_air_m3" else None
        self.order_fields(["name"])

    def clean_name(self) -> str:
        name = self.cleaned_data["name"].strip()
        others = Place.objects.filter(name__iexact=name)
        if self.instance.pk:
            others = others.exclude(pk=self.instance.place_id)
        if others.exists():
            raise forms.ValidationError(_("A place of this name exists already; choose another name."))
        return name

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        longest, length = cleaned.get("longest_board_mm"), cleaned.get("length_mm")
        if longest and length and longest > length:
            self.add_error(
                "longest_board_mm",
                _("Longer than the stacking space (%(length)s); give at most that.") % {"length": mm(length)},
            )
        self._check_air(cleaned)
        return cleaned

    def _check_air(self, cleaned: dict[str, Any]) -> None:
        """A unit that serves hardly any of the space is a slip of the decimal sign."""
        air, width, height = (float(cleaned.get(name) or 0) for name in ("largest_air_m3", "width_mm", "height_mm"))
        if air and width and height:
            served_mm = int(air * 1e9 / (min(width, cleaned.get("blow_length_mm") or width) * height))
            if served_mm < SIZES_MM["length_mm"][0]:
                words = _("That serves only %(length)s of the length; look at the figure again.")
                self.add_error("largest_air_m3", forms.ValidationError(words, params={"length": mm(served_mm)}))


class ClosureForm(forms.ModelForm):
    """Days on which a kiln takes no charge."""

    class Meta:
        model: type[Any] = Closure
        fields = ["first_day", "last_day", "reason"]
        widgets: ClassVar[dict[str, Any]] = {
            "first_day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            "last_day": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        first, last = cleaned.get("first_day"), cleaned.get("last_day")
        if first and last and last < first:
            self.add_error("last_day", _("This is before the first day; give the same day or a later one."))
        return cleaned


class BookingForm(ClosureForm):
    """The same with the kiln to be chosen."""

    class Meta(ClosureForm.Meta):
        fields = ["kiln", *ClosureForm.Meta.fields]
        widgets = {**ClosureForm.Meta.widgets, "kiln": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kilns: Any = self.fields["kiln"]
        kilns.label = _("Kiln")
        kilns.queryset, kilns.empty_label = Kiln.objects.filter(retired=False).select_related("place"), None
