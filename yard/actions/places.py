"""Places and their climate."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db import transaction

from yard import outlook
from yard.changes import Watched, keeps
from yard.models import FormerKind, Place
from yard.models.keptwords import of_climate

DRIES_BY = ("kind", "temperatures_c", "humidities_pct", "altitude_m")


@transaction.atomic
@keeps("place_changed", lambda place, **_given: _of_place(place), lambda place: ([place], [place]))
def keep_place(*, place: Place, by: Any, since: date | None = None) -> Place:
    """Save a new or changed place. A change of its kind or climate makes the forecasts of its stacks anew.

    `since`: the day from which it is of another kind (a shed closed for the winter); before it stays what it was.
    """
    before = Place.objects.filter(pk=place.pk).values(*DRIES_BY).first()
    place.save()
    if before and since and before["kind"] != place.kind:
        FormerKind.objects.update_or_create(place=place, until=since, defaults={"kind": before["kind"]})
    if before and any(getattr(place, name) != before[name] for name in DRIES_BY):
        outlook.forget(place=place)
    return place


def set_climate(
    *,
    place: Place,
    temperatures_c: Sequence[float],
    humidities_pct: Sequence[float],
    altitude_m: float = 0,
    note: str = "",
    by: Any,
) -> Place:
    """Give a place twelve monthly means, January first (°C, %)."""
    place.temperatures_c, place.humidities_pct = list(temperatures_c), list(humidities_pct)
    place.altitude_m, place.climate_note = altitude_m, note
    return keep_place(place=place, by=by)


def set_preset(*, place: Place, key: str, by: Any) -> Place:
    """Give a place one of the packaged climates. Raises KeyError for a name that is none."""
    preset = {one.key: one for one in outlook.climate_presets()}[key]
    return set_climate(
        place=place,
        temperatures_c=preset.temperatures_c,
        humidities_pct=preset.humidities_pct,
        altitude_m=preset.altitude_m,
        note=of_climate(preset.key),
        by=by,
    )


def _of_place(place: Place) -> Watched:
    return Watched([], [Place.objects.filter(pk=place.pk), FormerKind.objects.filter(place=place.pk)])
