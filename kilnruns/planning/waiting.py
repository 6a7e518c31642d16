"""What waiting would save: wood that dries on outdoors needs fewer days, less heat and less money in the kiln."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

WEEKS = (1, 2, 4)


@dataclass(frozen=True, slots=True)
class Run:
    """A charge begun on a day: days of its slowest stack, kWh of all, money."""

    days: int
    kwh: float
    cost: float


def saved_by_waiting(first_day: date, start_day: int, run: Callable[[int], Run], last_day: int) -> list[dict[str, Any]]:
    """The same charge one, two and four weeks later, as plain data; only where that spares a day or more.

    `run` gives the charge when it begins on a day from 0 to `last_day`.
    """
    now = run(start_day)
    later = [
        (start_day + 7 * weeks, run(start_day + 7 * weeks)) for weeks in WEEKS if start_day + 7 * weeks <= last_day
    ]
    return [
        {
            "start_on": (first_day + timedelta(days=day)).isoformat(),
            "days": now.days - then.days,
            "kwh": round(now.kwh - then.kwh, 1),
            "cost": round(now.cost - then.cost, 2),
        }
        for day, then in later
        if then.days < now.days
    ]
