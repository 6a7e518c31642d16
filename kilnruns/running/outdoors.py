"""The air outdoors, for when a kiln may be opened."""

from datetime import datetime

from django.utils import timezone

from yard import outlook
from yard.models import Place

USUAL_OUTSIDE_C = 10.0  # where no place has a climate: invented


def outside_c(now: datetime) -> float:
    """The usual temperature outdoors in the season, °C, by the first outdoor place. One query."""
    place = Place.objects.outdoors().first()
    usual = outlook.usual_temperature_c(place, timezone.localdate(now)) if place else None
    return USUAL_OUTSIDE_C if usual is None else usual
