"""Whether a stack stands frozen: told on its own page alone, since in winter every stack of wet wood does."""

from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from drying import watch
from yard.models import Stack
from yard.outlook.climates import climate

LOOK_BACK_DAYS = 14


def frost_watches(stack: Stack, on: date) -> list[dict[str, Any]]:
    """The watch of frozen wood, if it asks for something on a day, in the place's usual air: as `watches` gives them.

    Empty for a stack without a forecast, in a kiln, or dried.
    """
    air = climate(stack.place)
    if air is None or not hasattr(stack, "outlook") or stack.kiln_dried_on:
        return []
    temperature_c, _ = air.daily(on - timedelta(days=LOOK_BACK_DAYS - 1), LOOK_BACK_DAYS)
    found = watch.frost_watch(stack.outlook.moisture_on(on)[1], temperature_c)
    return [] if found.level == "none" else [{**asdict(found), "figures": dict(found.figures)}]
