"""Whether a stack stands frozen: told on its own page alone, since in winter every stack of wet wood does."""

from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from drying import watch
from drying.weather import daily
from yard.models import Stack
from yard.outlook.climates import climate
from yard.outlook.watches import LOOK_BACK_DAYS, weather_lately


def frost_watches(stack: Stack, on: date) -> list[dict[str, Any]]:
    """The watch of frozen wood, if it asks for something on a day: in the air, and in the form, of `watches`.

    Empty for a stack without a forecast, in a kiln, or dried.
    """
    air = climate(stack.place)
    if air is None or not hasattr(stack, "outlook") or stack.kiln_dried_on:
        return []
    log = weather_lately([stack.place_id], on).get(stack.place_id)
    seen = daily(air, log, on - timedelta(days=LOOK_BACK_DAYS - 1), LOOK_BACK_DAYS)
    found = watch.frost_watch(stack.outlook.moisture_on(on)[1], seen.temperature_c)
    return [] if found.level == "none" else [{**asdict(found), "figures": dict(found.figures)}]
