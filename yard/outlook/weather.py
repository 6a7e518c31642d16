"""Observed weather: a place's rows as the core's log, sheets read and written, and the log month by month."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Max
from django.utils import timezone

from drying import weather, weathersheet
from drying.climate import Exposure, equilibrium_of_air_pct, equilibrium_pct
from drying.weather import Day, Log
from drying.weathersheet import Sheet
from yard.models import DailyWeather, Place
from yard.outlook.climates import climate


@dataclass(frozen=True, slots=True)
class MonthWeather:
    """What was observed in a month beside what is usual there (None without a climate): °C, %, equilibrium moisture.

    `days` were logged; `rain_days` of them had rain that wets wood, None where no rain was measured.
    """

    first: date
    days: int
    temperature_c: float
    humidity_pct: float
    emc_pct: float
    usual_temperature_c: float | None
    usual_humidity_pct: float | None
    usual_emc_pct: float | None
    rain_days: int | None


def weather_logs(places: Iterable[int], since: date | None = None) -> dict[int, Log]:
    """The weather logs of these places, by the place's key; one query. Places without one are left out."""
    rows = DailyWeather.objects.filter(place__in=set(places))
    if since is not None:
        rows = rows.filter(day__gte=since)
    days: dict[int, list[Day]] = defaultdict(list)
    for row in rows:
        days[row.place_id].append(_day(row))
    return {place: Log.of(found) for place, found in days.items()}


def weather_until(place: Place) -> date | None:
    """The last day of a place's log, None without one."""
    until: date | None = DailyWeather.objects.filter(place=place).aggregate(until=Max("day"))["until"]
    return until


def read_weather(text: str) -> Sheet:
    """Read a weather sheet; see `drying.weathersheet` for its form."""
    return weathersheet.read(text, timezone.localdate(), timezone.get_current_timezone())


def write_weather(rows: Iterable[DailyWeather]) -> str:
    """The sheet of these rows, in the form that `read_weather` takes."""
    return weathersheet.write([_day(row) for row in rows])


def weather_gaps(rows: Iterable[DailyWeather]) -> list[tuple[date, date]]:
    """First and last day of each stretch that a log lacks."""
    return weather.gaps(row.day for row in rows)


def weather_months(place: Place, rows: Sequence[DailyWeather]) -> list[MonthWeather]:
    """The log month by month, oldest first."""
    by_month: dict[date, list[DailyWeather]] = defaultdict(list)
    for row in rows:
        by_month[row.day.replace(day=1)].append(row)
    return [_month(place, first, by_month[first]) for first in sorted(by_month)]


def _month(place: Place, first: date, rows: list[DailyWeather]) -> MonthWeather:
    mean_c, humidity = weather.mean_of_hours([r.temperature_c for r in rows], [r.humidity_pct for r in rows])
    rain = [row.rain_mm for row in rows if row.rain_mm is not None]
    usual, exposure = climate(place), Exposure(place.kind)
    n = first.month - 1
    return MonthWeather(
        first=first,
        days=len(rows),
        temperature_c=mean_c,
        humidity_pct=humidity,
        emc_pct=equilibrium_of_air_pct(mean_c, humidity, exposure),
        usual_temperature_c=usual.temperature_c[n] if usual else None,
        usual_humidity_pct=usual.relative_humidity_pct[n] if usual else None,
        usual_emc_pct=equilibrium_pct(usual, exposure, first.month) if usual else None,
        rain_days=sum(depth >= weather.RAIN_DAY_MM for depth in rain) if rain else None,
    )


def _day(row: DailyWeather) -> Day:
    return Day(row.day, row.temperature_c, row.humidity_pct, row.rain_mm)
