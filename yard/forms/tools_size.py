"""Calculators of sizes and masses."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from yard.forms.figures import FigureField, Output, ToolForm
from yard.forms.woodfield import OfWood, WoodField
from yard.outlook import tools

_GRAINS = [("mixed", _("mixed or not known")), ("flat", _("flat-sawn")), ("quarter", _("quarter-sawn"))]
_DIMENSIONS = [("thickness", _("thickness")), ("width", _("width"))]
_SHRINKING = (
    _("Shrinkage: Wood Handbook, FPL-GTR-282 (2021), chapter 4, equation 4-7, straight from 30 % down; the wood's own "
      "figures from the book of species."),
    _("The sum of planing, shrinkage and saw: common practice, no source."),
)  # fmt: skip
_SIZE_LIMITS = _(
    "Flat-sawn boards shrink radially in thickness and tangentially in width, quarter-sawn ones the other way about; "
    "mixed takes the mean. Boards of one tree differ: keep a margin for dear wood."
)
_RECALLED = {"recalled": _("This wood's own figure was recalled, not read again: check it before dear wood.")}
_NO_SHRINKAGE = {"no_shrinkage": _("The book of species has no shrinkage for this wood yet; add it there.")}


def _moisture() -> FigureField:
    return FigureField(label=_("Moisture when finished"), unit="%", least=0, most=30)


def _grain() -> forms.ChoiceField:
    return forms.ChoiceField(label=_("Sawn"), choices=_GRAINS, required=False)


def _dimension() -> forms.ChoiceField:
    return forms.ChoiceField(label=_("Which size"), choices=_DIMENSIONS, required=False)


def _planing() -> FigureField:
    return FigureField(label=_("Planing, each side"), unit="mm", least=0, most=20, otherwise=0)


def _deviation() -> FigureField:
    return FigureField(label=_("Saw strays by"), unit="mm", least=0, most=20, otherwise=0)


def _allowed(given: dict[str, Any]) -> dict[str, Any]:
    return {
        "grain": given["grain"] or "mixed",
        "dimension": given["side"] or "thickness",
        "planing_mm": given["planing"],
        "deviation_mm": given["deviation"],
    }


class SawingForm(OfWood, ToolForm):
    key, title = "sawing", _("Sawing size")
    lead = _("How thick to saw, so that it still measures up when dry and planed?")
    size = FigureField(label=_("Finished size"), unit="mm", least=3, most=1000)
    wood, mc, grain, side = WoodField(), _moisture(), _grain(), _dimension()
    planing, deviation = _planing(), _deviation()
    outputs = (
        Output("size", _("to saw"), "mm", 1),
        Output("dry", _("dry, before planing"), "mm", 1),
        Output("shrinkage", _("shrinkage to that moisture"), "%", 1),
        Output("total", _("shrinkage to oven-dry"), "%", 1),
    )
    notes, refusals = _RECALLED, _NO_SHRINKAGE
    sources, limits = _SHRINKING, _SIZE_LIMITS

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.sawing(given["size"], given["wood"], given["mc"], **_allowed(given))


class FinishedForm(OfWood, ToolForm):
    key, title = "finished", _("Finished size from green")
    lead = _("What will this board surely measure when dry and planed?")
    sawn = FigureField(label=_("Sawn size"), unit="mm", least=3, most=1000)
    wood, mc, grain, side = WoodField(), _moisture(), _grain(), _dimension()
    planing, deviation = _planing(), _deviation()
    outputs = (
        Output("size", _("finished"), "mm", 1),
        Output("dry", _("dry, before planing, the thinnest"), "mm", 1),
        Output("shrinkage", _("shrinkage to that moisture"), "%", 1),
        Output("total", _("shrinkage to oven-dry"), "%", 1),
    )
    notes = _RECALLED
    refusals = {**_NO_SHRINKAGE, "too_small": _("Nothing is left: it is {lacking} mm too small for all this.")}
    sources, limits = _SHRINKING, _SIZE_LIMITS

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.finished(given["sawn"], given["wood"], given["mc"], **_allowed(given))


class MassForm(OfWood, ToolForm):
    key, title = "mass", _("Mass and water")
    lead = _("What does a board or a stack weigh, and how much water must go?")
    wood = WoodField()
    mc = FigureField(label=_("Moisture now"), unit="%", least=0, most=250)
    thickness = FigureField(label=_("Thickness, green"), unit="mm", least=3, most=500)
    width = FigureField(label=_("Width, green"), unit="mm", least=10, most=1500)
    length = FigureField(label=_("Length"), unit="m", least=0.1, most=20)
    count = FigureField(label=_("Boards"), unit="", least=1, most=100_000, otherwise=1)
    to = FigureField(label=_("To be dried to"), unit="%", least=0, most=250, required=False)
    outputs = (
        Output("mass", _("wood and water"), "kg", 0),
        Output("each", _("each board"), "kg", 1),
        Output("volume", _("volume, green"), "m³", 3),
        Output("dry", _("of it dry wood"), "kg", 0),
        Output("water", _("of it water"), "kg", 0),
        Output("lost", _("water to leave"), "kg", 0),
        Output("then", _("its mass then"), "kg", 0),
    )
    notes = {
        "heavy": _("One board is more than 25 kg: not a load for one person (common practice, no source)."),
        **_RECALLED,
    }
    sources = (
        _("Mass = green volume × basic density × (1 + moisture): by definition of the basic density."),
        _("Basic density from the book of species; its own source stands there."),
    )
    limits = _(
        "Trees of one species differ by a tenth and more (recalled), ice, bark and stickers are not in it: before you "
        "lift, leave a margin, and never go to the limit of a lift or sling by a reckoned mass."
    )
    caution = "lifting stack forklift"

    def compute(self, given: dict[str, Any]) -> tools.Answer:
        return tools.mass(
            given["wood"],
            given["mc"],
            thickness_mm=given["thickness"],
            width_mm=given["width"],
            length_m=given["length"],
            count=given["count"],
            to_pct=given["to"],
        )
