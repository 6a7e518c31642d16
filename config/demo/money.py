"""Prices, costs and the logs of what was dried, all invented."""

from typing import Any

from yard.actions.money import keep_costs, keep_prices
from yard.models import Species, Stack

ROUND_M3_PER_M3 = (1.78, 1.86, 1.94)
"""Round wood of a m³ sawn, one after another."""


def keep_money(given: dict[str, Any], by: Any, at: Any) -> None:
    """The mill's prices and costs, and the round wood of the stacks that were dried in its kilns."""
    species = {one.key: one for one in Species.objects.all()}
    prices = {species[row["species"]]: (row["dry"], row["green"]) for row in given["prices"]}
    keep_prices(prices=prices, rates=given["costs"])
    for number, stack in enumerate(Stack.objects.filter(kiln_dried_on__isnull=False).order_by("cut_on", "pk")):
        ratio = ROUND_M3_PER_M3[number % len(ROUND_M3_PER_M3)]
        figures = {"log_per_m3": None, "sawing_per_m3": None, "stacking_per_m3": None, "round_m3_per_m3": ratio}
        keep_costs(stack=stack, figures=figures, by=by, at=at)
