"""Places: their climate as the core takes it, and what wood comes to in it."""

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from drying.climate import PRESETS, Climate, Exposure, equilibrium_pct, lowest_equilibrium_pct
from yard.models import Place
from yard.models.keptwords import CLIMATES, INVENTED

MONTHS = range(1, 13)


@dataclass(frozen=True, slots=True)
class Preset:
    """A climate to choose: twelve monthly means, January first; `note` says where it comes from."""

    key: str
    name: str
    temperatures_c: tuple[float, ...]
    humidities_pct: tuple[float, ...]
    altitude_m: float
    note: str


@dataclass(frozen=True, slots=True)
class PlaceAir:
    """What wood comes to in a place: moisture (%) in each month, and the lowest over the year."""

    emc_pct: tuple[float, ...]
    lowest_pct: float


def climate_presets() -> list[Preset]:
    """The packaged climates, in the table's order."""
    return [
        Preset(
            key=preset.key,
            name=_(CLIMATES[preset.key]),
            temperatures_c=tuple(preset.climate.temperature_c),
            humidities_pct=tuple(preset.climate.relative_humidity_pct),
            altitude_m=preset.climate.altitude_m,
            note=_(INVENTED),
        )
        for preset in PRESETS.values()
    ]


def climate(place: Place) -> Climate | None:
    """The place's climate; None where its twelve months have not been given, and in a kiln."""
    if place.is_kiln or len(place.temperatures_c) != 12 or len(place.humidities_pct) != 12:
        return None
    return Climate(tuple(place.temperatures_c), tuple(place.humidities_pct), place.altitude_m)


def place_emc(place: Place) -> PlaceAir | None:
    """Equilibrium moisture by month and the lowest: what the place can reach at best. None without a climate."""
    air = climate(place)
    if air is None:
        return None
    exposure = Exposure(place.kind)
    monthly = tuple(float(equilibrium_pct(air, exposure, month)) for month in MONTHS)
    return PlaceAir(monthly, float(lowest_equilibrium_pct(air, exposure)))


def usual_temperature_c(place: Place, day: date) -> float | None:
    """The place's mean temperature of the season, in the shade; None without a climate."""
    air = climate(place)
    return None if air is None else float(air.daily(day, 1)[0][0])
