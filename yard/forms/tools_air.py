"""Calculators of air."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from yard.forms.figures import FigureField, Output, ToolForm
from yard.outlook import tools

_ASHRAE = _("Air: ASHRAE Handbook of Fundamentals (2017), chapter 1, equations 3, 5, 6, 20, 33 and 35.")
_SORPTION = _("EMC: Wood Handbook, FPL-GTR-282 (2021), chapter 4, equation 4-5 and table 4-2.")
_AIR_LIMITS = _("For −20 to 90 °C, up to 2,500 m. The wet bulb is one in moving air; below 0 °C its wick bears ice. ")
_EMC_LIMITS = _(
    "EMC stands midway between wetting and drying: wood that dries stays up to a point or two above it (recalled)."
)
_RH = Output("rh", _("relative humidity"), "%", 1)
_WET = Output("wet", _("wet bulb"), "°C", 1)
_DEPRESSION = Output("depression", _("wet-bulb depression"), "K", 1)
_DEW = Output("dew", _("dew point"), "°C", 1)
_EMC = Output("emc", _("is what wood comes to in this air"), "%", 1)
_ONE = {
    "one_of": _("Give one of these: it tells how damp the air is."),
    "one_only": _("One is enough, and two may disagree: leave this one or the other empty."),
    "swapped": _("The wet bulb, {wet} °C, is above the air, {t} °C; are the two swapped?"),
    "too_dry": _("{wet} °C is too low: even perfectly dry air here shows {least} °C. Was the wick wet?"),
}
_BEYOND = {
    "beyond_table": _(
        "Outside the published table (−1.1 to 98.9 °C, 5 to 95 % humidity): the equation is not checked here."
    )
}


def _temperature() -> FigureField:
    return FigureField(label=_("Air temperature"), unit="°C", least=tools.COLDEST_C, most=tools.HOTTEST_C)


def _humidity() -> FigureField:
    return FigureField(label=_("Relative humidity"), unit="%", least=0, most=100, required=False)


def _wet_bulb() -> FigureField:
    return FigureField(
        label=_("or wet bulb"), unit="°C", least=tools.COLDEST_WET_C, most=tools.HOTTEST_C, required=False
    )


def _altitude() -> FigureField:
    return FigureField(label=_("Height above the sea"), unit="m", least=0, most=tools.HIGHEST_M, otherwise=0)


class EmcForm(ToolForm):
    key, title = "emc", _("EMC from air")
    lead = _("What moisture does wood come to in this air?")
    t, rh, wet, altitude = _temperature(), _humidity(), _wet_bulb(), _altitude()
    outputs = (_EMC, _RH, _WET, _DEW)
    notes, refusals = _BEYOND, _ONE
    sources, limits = (_SORPTION, _ASHRAE), _EMC_LIMITS

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        known = {"humidity_pct": given["rh"], "wet_bulb_c": given["wet"], "altitude_m": given["altitude"]}
        return tools.equilibrium(given["t"], **known)


class AirForm(ToolForm):
    key, title = "air", _("Air for an EMC")
    lead = _("Which air holds wood at this moisture?")
    t = _temperature()
    emc = FigureField(label=_("Moisture to hold"), unit="%", least=0, most=40)
    altitude = _altitude()
    outputs = (_RH, _WET, _DEPRESSION, _DEW)
    notes = _BEYOND
    refusals = {"too_damp": _("No air holds more than {most} % at this temperature.")}
    sources, limits = (_SORPTION, _ASHRAE), _EMC_LIMITS

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.air_for(given["t"], given["emc"], altitude_m=given["altitude"])


class MoistAirForm(ToolForm):
    key, title = "humidity", _("Wet bulb, humidity, dew point")
    lead = _("Give one of the three, and the other two follow.")
    t, rh, wet = _temperature(), _humidity(), _wet_bulb()
    dew = FigureField(
        label=_("or dew point"), unit="°C", least=tools.COLDEST_WET_C, most=tools.HOTTEST_C, required=False
    )
    altitude = _altitude()
    outputs = (
        _RH,
        _WET,
        _DEPRESSION,
        _DEW,
        Output("water", _("water in each kg of dry air"), "g", 1),
    )
    refusals = {**_ONE, "dew_above": _("The dew point, {dew} °C, can't be above the air, {t} °C.")}
    sources = (_ASHRAE,)
    limits = _AIR_LIMITS

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        known = {"humidity_pct": given["rh"], "wet_bulb_c": given["wet"], "dew_point_c": given["dew"]}
        return tools.moist_air(given["t"], **known, altitude_m=given["altitude"])
