"""Daily weather that the forecast does not know: about a climate's usual year, with spells. All invented.

Days have memory; damp spells bring rain; months are warmer or colder, drier or damper than usual; a site is damper or
drier than its climate table; wind rises and falls with memory and by month.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from drying.climate import Climate

MONTHS = 60


@dataclass(frozen=True)
class Weather:
    """Of S stacks and their days, each [S, days]: °C, %, wind about 1, and whether it rains."""

    temperature_c: np.ndarray
    humidity_pct: np.ndarray
    wind: np.ndarray
    rain: np.ndarray


def _memory(rng: np.random.Generator, count: int, days: int, memory: float) -> np.ndarray:
    """Normal deviates, each day's correlated with the day before."""
    noise = rng.standard_normal((count, days))
    for day in range(1, days):
        noise[:, day] = memory * noise[:, day - 1] + np.sqrt(1 - memory**2) * noise[:, day]
    return noise


def draw(rng: np.random.Generator, climates: Sequence[Climate], starts: Sequence[date], days: int) -> Weather:
    """One course of weather for each stack, from its own first day."""
    count = len(starts)
    usual = [climate.daily(start, days) for climate, start in zip(climates, starts, strict=True)]
    month = np.array(
        [[(start.month - 1 + (start.day + day) // 30) % MONTHS for day in range(days)] for start in starts]
    )
    row = np.arange(count)[:, None]
    warm, dry, windy = (size * rng.standard_normal((count, MONTHS))[row, month] for size in (1.3, 4.0, 0.25))
    daily = _memory(rng, count, days, 0.75)
    spell = _memory(rng, count, days, 0.6) > 0.9
    temperature = np.stack([t for t, _ in usual]) + 3.5 * daily + warm
    humidity = np.stack([h for _, h in usual]) - 3 * daily + 6 * _memory(rng, count, days, 0.6) + dry
    humidity += 10 * spell - 1.84 + 2 * rng.standard_normal((count, 1))
    wind = np.exp(windy + 0.4 * _memory(rng, count, days, 0.5) - 0.11)
    rain = spell & (rng.random((count, days)) < 0.7)
    return Weather(temperature, np.clip(humidity, 15, 98), wind, rain)
