"""A year of invented daily weather for one place of the demo mill: its climate, with spells, from a fixed seed."""

from datetime import date, timedelta
from random import Random
from typing import Any

from yard import outlook
from yard.actions.weather import keep_weather
from yard.models import Place

SEED, DAYS = 7, 365
SENSOR_FAILED_DAYS_AGO = (61, 62, 63)  # so that the page shows a gap
TEMPERATURE_SPREAD_C, HUMIDITY_SPREAD_PCT, MEMORY = 3.0, 8.0, 0.7


def log_weather(place: Place, today: date, owner: Any) -> None:
    """Keep the days up to yesterday in the place's log."""
    lines = ["date,temperature,humidity,rain", *_rows(place, today)]
    keep_weather(place=place, days=outlook.read_weather("\n".join(lines)).days, by=owner)


def _rows(place: Place, today: date) -> list[str]:
    chance = Random(SEED)  # noqa: S311 - the same demo each time
    warm = damp = 0.0
    rows = []
    for days_ago in range(DAYS, 0, -1):
        day = today - timedelta(days=days_ago)
        warm, damp = (MEMORY * old + (1 - MEMORY**2) ** 0.5 * chance.gauss(0, 1) for old in (warm, damp))
        temperature = _between(place.temperatures_c, day) + TEMPERATURE_SPREAD_C * warm
        humidity = _between(place.humidities_pct, day) + HUMIDITY_SPREAD_PCT * damp - 2 * warm
        rain = round(chance.expovariate(0.25), 1) if damp + chance.gauss(0, 0.7) > 0.6 else 0.0
        if days_ago not in SENSOR_FAILED_DAYS_AGO:
            rows.append(f"{day.isoformat()},{temperature:.1f},{min(max(humidity, 25), 99):.0f},{rain:.1f}")
    return rows


def _between(means: list[float], day: date) -> float:
    """A month's mean led over to its neighbour's."""
    away = (day.day - 15) / 30
    other = (day.month - 1 + (1 if away > 0 else -1)) % 12
    return means[day.month - 1] * (1 - abs(away)) + means[other] * abs(away)
