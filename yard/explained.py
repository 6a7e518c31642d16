"""What the main figures mean, where each comes from and how sure it is: told beside the figure and on the help page."""

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class Explained:
    """A figure in plain words. Of a source that was not at hand the words say that it is recalled."""

    name: str | Promise
    means: str | Promise
    source: str | Promise
    sure: str | Promise


EXPLAINED = {
    "moisture": Explained(
        name=_("Moisture"),
        means=_(
            "The water in the wood, in per cent of what the wood weighs when bone dry. Green wood may hold more than "
            "100 %; it shrinks from about 30 % down."
        ),
        source=_(
            "Read off the forecast for today, which your readings put right. Definition: Wood Handbook, chapter 4."
        ),
        sure=_(
            "The true mean lies in the band four times in five. A pin meter alone is about 2 points off on one board."
        ),
    ),
    "ready": Explained(
        name=_("Ready about"),
        means=_(
            "By this day half of all such stacks are dry enough for the kiln; one in ten by the first day of the band, "
            "nine in ten by the last."
        ),
        source=_(
            "Reckoned from the wood, its thickness, the air of the place and your readings; how fast each wood dries "
            "is fitted to published air-drying times."
        ),
        sure=_(
            "In trials with invented stacks the band held four times in five; where the wood dried much slower than "
            "the books say, three times in five. Two readings made it half as wide."
        ),
    ),
    "emc": Explained(
        name=_("What the air allows"),
        means=_("So dry wood becomes in this air, and no drier. It is called equilibrium moisture content, EMC."),
        source=_(
            "From temperature and humidity by the Wood Handbook's equation 4-5, with the monthly climate or the "
            "weather of the place."
        ),
        sure=_("Woods differ from it by a point or so (recalled)."),
    ),
    "days": Explained(
        name=_("Days in the kiln"),
        means=_(
            "How long the run takes from the moisture at its start to the target. The band is meant to hold four runs "
            "in five."
        ),
        source=_(
            "Reckoned by a model of the chamber with its heater, walls and vents, which follows the published schedule."
        ),
        sure=_(
            "Rates in the kiln rest on few published figures, until your finished runs correct them; the band's width "
            "is our choice. The sample boards say when it is done, never the date."
        ),
    ),
    "fill": Explained(
        name=_("How full the charge is"),
        means=_(
            "How much of the room for boards is used. The second figure compares it with the fullest load that this "
            "stock allows at all."
        ),
        source=_("Every board is laid out to scale, with stickers, gaps and rests."),
        sure=_("The fullest load is a proven limit: none is fuller, and perhaps none reaches it."),
    ),
    "value": Explained(
        name=_("Worth and share of the most"),
        means=_(
            "Worth is what the wood in the charge brings at your prices a cubic metre; without one, 400 are assumed. "
            "A plan is compared with a value that no plan can exceed."
        ),
        source=_("That limit is proven by calculation, and a second reckoning checks each plan for faults."),
        sure=_("It is as right as the prices, and as the forecasts of when each stack is ready."),
    ),
    "stress": Explained(
        name=_("Stress"),
        means=_(
            "A shell that dried fast has set wide; when the core dries later, the two pull at each other. Sawn boards "
            "then cup or pinch the saw. Conditioning takes it out."
        ),
        source=_("Drying handbook AH-188, chapter 6 (recalled)."),
        sure=_("What is told from the air in the kiln is a warning. A cut slice or prongs decide."),
    ),
    "chance": Explained(
        name=_("Chance of a day"),
        means=_("Of a hundred such promises about so many would be kept."),
        source=_(
            "The forecasts of all stacks that are reserved, their chances multiplied, and the kiln's days by plan."
        ),
        sure=_(
            "The stacks are taken as drying each for itself; they share the weather, so the true chance is rather "
            "higher. Cutting and planing come on top."
        ),
    ),
}
"""In the order of the way from the stack to the promise."""
