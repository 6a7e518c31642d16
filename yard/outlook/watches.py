"""What to mind about a stack outdoors: stain, and drying too fast. Codes and figures; templates make the words."""

from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from drying import watch
from yard.models import Stack, WoodPart
from yard.outlook.climates import climate

LOOK_BACK_DAYS = 14
RATE_DAYS = 3


def watches(stack: Stack, on: date) -> list[dict[str, Any]]:
    """Watches that ask for something on a day, gravest first: level ("mind" or "act"), code, figures, changes.

    The air is the place's usual one of the season, the moisture and loss the kept forecast's median. Empty for a stack
    without a forecast, in a kiln, or dried.
    """
    air = climate(stack.place)
    if air is None or not hasattr(stack, "outlook") or stack.kiln_dried_on:
        return []
    temperature_c, humidity_pct = air.daily(on - timedelta(days=LOOK_BACK_DAYS - 1), LOOK_BACK_DAYS)
    moisture_pct = stack.outlook.moisture_on(on)[1]
    has_sapwood = stack.wood_part != WoodPart.HEARTWOOD
    found = [
        watch.stain_watch(moisture_pct, temperature_c, humidity_pct, has_sapwood),
        _too_fast(stack, on, moisture_pct, float(temperature_c[-1]), float(humidity_pct[-1])),
    ]
    asking = sorted((one for one in found if one.level != "none"), key=lambda one: one.level != "act")
    return [{**asdict(one), "figures": dict(one.figures)} for one in asking]


def _too_fast(stack: Stack, on: date, moisture_pct: float, temperature_c: float, humidity_pct: float) -> watch.Watch:
    later = stack.outlook.moisture_on(on + timedelta(days=RATE_DAYS))[1]
    species = stack.species
    safe = species.safe_rate_pct_per_day or watch.GROUP_SAFE_RATE_PCT[species.drying_group]
    loss = max(moisture_pct - later, 0) / RATE_DAYS
    return watch.drying_too_fast(loss, safe, stack.thickness_mm, moisture_pct, temperature_c, humidity_pct)
