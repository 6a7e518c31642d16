"""Calculators of the moisture of wood."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard import outlook
from yard.forms.figures import FigureField, Output, ToolForm
from yard.forms.woodfield import OfWood, WoodField
from yard.outlook import tools

_LIGHTEST_G, _HEAVIEST_G = 0.1, 100_000


def _mass(label: Any) -> FigureField:
    return FigureField(label=label, unit="g", least=_LIGHTEST_G, most=_HEAVIEST_G)


class MeterForm(OfWood, ToolForm):
    key, title = "meter", _("Meter correction")
    lead = _("What does a pin meter's reading mean in this wood, at its temperature?")
    value = FigureField(label=_("Reading"), unit="%", least=3, most=150)
    t = FigureField(label=_("Wood temperature"), unit="°C", least=-20, most=50)
    wood = WoodField()
    meter = forms.ChoiceField(label=_("Meter set to"), required=False)
    calibrated = FigureField(label=_("Meter is true at"), unit="°C", least=15, most=30, otherwise=20)
    outputs = (
        Output("value", _("corrected"), "%", 1),
        Output("temperature_part", _("of it for the temperature"), "%", 1),
        Output("species_part", _("of it for the species"), "%", 1),
        Output("low", _("lowest by the published rules"), "%", 1),
        Output("high", _("highest by the published rules"), "%", 1),
    )
    notes = {
        "above_usable_range": _("Above about 30 % a meter says little more than “wet”."),
        "below_usable_range": _("Below 6 % pins read next to nothing."),
        "outside_temperature_chart": _("Outside the published temperature chart: its nearest edge is taken."),
        "frozen_wood": _("Frozen wet wood reads wrong; thaw a piece and read again."),
        "meter_scale_not_given": _("Not corrected for the species: say to which wood the meter is set."),
        "no_species_curve": _("Not corrected for the species: no published curve of this wood is at hand."),
        "no_meter_scale_curve": _("Not corrected for the species: no curve of the meter's scale is at hand."),
        "species_not_given": _("Not corrected for the species: no published curve of this wood is at hand."),
        "outside_species_curve": _("Not corrected for the species: outside the range of its published curve."),
    }
    sources = (
        _("Temperature: James, FPL-GTR-6 (1988), figure 5, digitised."),
        _("Species: James, FPL-GTR-6, table 1; Forsén and Tarvainen, VTT Publications 420 (2000), table 5."),
        _("The two rules beside the chart: Wood Handbook ch. 13 (0.5 % for 10 °F), SP Trä PX21326 (1.6 % for 10 K)."),
    )
    limits = _(
        "Pin meters only, 6 to 30 %, wood of −20 to 50 °C. The rules disagree: lowest and highest show how much."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["meter"].choices = [("", _("not said")), *outlook.meter_scales()]  # type: ignore[attr-defined]

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.meter(given["value"], given["t"], given["wood"], given["meter"], calibrated_c=given["calibrated"])


_WEIGHED = {
    "lighter": _("{wet} g is less than the oven-dry mass of {dry} g; are the two swapped?"),
    "too_wet": _("That makes {mc} % moisture; no wood has more than 400 %."),
}


class OvenDryForm(ToolForm):
    key, title = "oven", _("Oven-dry test")
    lead = _("Weigh a section wet, dry it at 103 °C until it loses no more, weigh it again.")
    wet, dry = _mass(_("Wet mass")), _mass(_("Oven-dry mass"))
    outputs = (
        Output("mc", _("moisture, of the oven-dry mass"), "%", 1),
        Output("water", _("water in it"), "g", 1),
        Output("wet_basis", _("of the whole mass"), "%", 1),
    )
    refusals = _WEIGHED
    sources = (_("EN 13183-1:2002, clause 6; ASTM D4442."),)
    limits = _(
        "Up to 400 %. Weigh a section of more than 100 g to 0.1 g, a lighter one to 0.01 g (EN 13183-1, clause 4). "
        "The oven and what comes out of it burn: wear gloves, and keep resinous shavings off its heater."
    )

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.oven_dry(given["wet"], given["dry"])


class SampleBoardForm(ToolForm):
    key, title = "sample", _("Weighed sample board")
    lead = _("How wet is the board now, and what will it weigh at its target?")
    green = _mass(_("Mass when the sections were cut"))
    sections = FigureField(label=_("Moisture of the sections"), unit="%", least=0, most=400)
    now = _mass(_("Mass now"))
    target = FigureField(label=_("Target"), unit="%", least=4, most=60, required=False)
    outputs = (
        Output("mc", _("moisture now"), "%", 1),
        Output("dry", _("its oven-dry mass"), "g", 0),
        Output("target_mass", _("its mass at the target"), "g", 0),
    )
    refusals = _WEIGHED
    sources = (_("USDA Agriculture Handbook 188, Dry Kiln Operator's Manual (1991), chapter 6."),)
    limits = _("As true as the sections: cut one beside each end of the board, and take their mean.")

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.sample_board(given["green"], given["sections"], given["now"], target_pct=given["target"])
