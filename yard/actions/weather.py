"""A place's weather log: days kept and taken out again."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from yard import outlook
from yard.changes import Watched, keeps, kept
from yard.models import DailyWeather, FormerKind, Place

_VALUES = ["temperature_c", "humidity_pct", "rain_mm"]


@dataclass(frozen=True, slots=True)
class Kept:
    """How many days were new, were there with other values (the later word counts), were there already."""

    new: int
    changed: int
    same: int


@transaction.atomic
def keep_weather(*, place: Place, days: Iterable[Any], by: Any) -> Kept:
    """Keep days (of `outlook.read_weather`) in a place's log; the forecasts of its stacks are made anew if any is new.

    A day that was there already takes the new values; rain that was known stays where the new row has none.
    """
    Place.objects.select_for_update().get(pk=place.pk)  # two uploads at once take turns
    rows = [DailyWeather(place=place, day=one.day, **_values(one)) for one in days]
    with kept("weather_kept", _of_days(place, day__in=[row.day for row in rows]), by=by):
        return _keep_days(place, rows)


def _keep_days(place: Place, rows: list[DailyWeather]) -> Kept:
    there = {row.day: row for row in place.weather.filter(day__in=[row.day for row in rows])} if rows else {}
    for row in rows:
        if row.rain_mm is None and row.day in there:
            row.rain_mm = there[row.day].rain_mm
    new = [row for row in rows if row.day not in there]
    changed = [row for row in rows if row.day in there and _differs(row, there[row.day])]
    DailyWeather.objects.bulk_create(
        [*new, *changed],
        batch_size=500,
        update_conflicts=True,
        unique_fields=["place", "day"],
        update_fields=_VALUES,
    )
    if new or changed:
        outlook.forget(place=place)
    return Kept(len(new), len(changed), len(rows) - len(new) - len(changed))


@transaction.atomic
@keeps("weather_removed", lambda place, first, last, **_given: _of_days(place, day__range=(first, last)))
def remove_weather(*, place: Place, first: date, last: date, by: Any) -> int:
    """Take the days from `first` to `last` out of a place's log; how many there were."""
    count, _kinds = place.weather.filter(day__range=(first, last)).delete()
    if count:
        outlook.forget(place=place)
    return count


@transaction.atomic
@keeps("kind_forgotten", lambda former, **_given: Watched([former.place], [former.place.former_kinds.all()]))
def forget_kind(*, former: FormerKind, by: Any) -> None:
    """Take back that a place was of another kind before: it has been of the next kind all along."""
    former.delete()
    outlook.forget(place=former.place)


def _of_days(place: Place, **which: Any) -> Watched:
    return Watched([place], [place.weather.filter(**which)])


def _values(one: Any) -> dict[str, Any]:
    return {
        "temperature_c": one.temperature_c,
        "humidity_pct": one.relative_humidity_pct,
        "rain_mm": one.rain_mm,
    }


def _differs(row: DailyWeather, there: DailyWeather) -> bool:
    return any(getattr(row, name) != getattr(there, name) for name in _VALUES)
