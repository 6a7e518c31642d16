"""The air about a stack: a place's twelve monthly means, smoothed over the year, and how a stack stands in it.

Temperatures °C, humidities %, altitude m; out of range: ValueError naming quantity, value and range. The year has 365
days and repeats; 29 February has the air of 28 February. Smoothing by a periodic spline: our choice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import lru_cache

import numpy as np
import scipy

from drying.air import pressure_pa
from drying.diffusion import Air
from drying.ranges import FloatArray, within
from drying.wood import equilibrium_moisture_pct

YEAR_DAYS = 365
_MONTH_LENGTHS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
_MONTH_STARTS = np.concatenate([[0], np.cumsum(_MONTH_LENGTHS)])


class Exposure(StrEnum):
    """How a stack stands: in the open under its own roof, in an open-sided shed, in a closed store; in the open with
    nothing over it, so that rain falls on it (`drying.weather` says what that does)."""

    OPEN_YARD = "open_yard"
    ROOFED_SHED = "roofed_shed"
    CLOSED_STORE = "closed_store"
    UNCOVERED = "uncovered"


@dataclass(frozen=True, slots=True)
class Effect:
    """What an exposure does to drying.

    surface: factor on the surface's mass transfer (wind); humidity_shift_pct: added to the relative humidity;
    rate_log_sd: how far, as a logarithm, the true rate may stray for it; rained_on: rain wets the boards, and the shift
    stands for it only where no rain was measured.
    """

    surface: float
    humidity_shift_pct: float
    rate_log_sd: float
    rained_on: bool = False


# Choices, no source: wind falls from yard to shed to store; a closed store is a little drier than the air outside.
# Uncovered: 9 points of humidity delay 25 % moisture as long as rain on one day in three does by drying.weather's rule
# (27 mm oak and spruce, two climates, 16 starts: 8 to 12 points).
EFFECTS = {
    Exposure.OPEN_YARD: Effect(1.0, 0.0, 0.0),
    Exposure.ROOFED_SHED: Effect(0.6, 0.0, 0.10),
    Exposure.CLOSED_STORE: Effect(0.25, -3.0, 0.20),
    Exposure.UNCOVERED: Effect(1.0, 9.0, 0.25, rained_on=True),
}


def day_of_year(ordinals: np.ndarray) -> np.ndarray:
    """Index 0..364 into the year's table of days for proleptic ordinals (`date.toordinal`)."""
    days = (np.asarray(ordinals, dtype=np.int64) - date(1970, 1, 1).toordinal()).astype("datetime64[D]")
    months = days.astype("datetime64[M]")
    month = months.astype(np.int64) % 12
    within_month = (days - months.astype("datetime64[D]")).astype(np.int64)
    return _MONTH_STARTS[month] + np.minimum(within_month, _MONTH_LENGTHS[month] - 1)


def _smoothed(means: Sequence[float]) -> FloatArray:
    """365 daily values whose months have the given means: the slope of a periodic spline through the running sum."""
    values = np.asarray(means, dtype=np.float64)
    level = float(values @ _MONTH_LENGTHS) / YEAR_DAYS
    sums = np.concatenate([[0.0], np.cumsum((values - level) * _MONTH_LENGTHS)])
    sums[-1] = 0.0
    running = scipy.interpolate.CubicSpline(_MONTH_STARTS, sums, bc_type="periodic")
    return level + np.diff(running(np.arange(YEAR_DAYS + 1)))


@dataclass(frozen=True, slots=True)
class Climate:
    """Twelve monthly means, January first: temperature (-40..50 °C), relative humidity (5..100 %); altitude m.

    Raises ValueError that names the month where a value is missing or out of range.
    """

    temperature_c: tuple[float, ...]
    relative_humidity_pct: tuple[float, ...]
    altitude_m: float = 0.0

    def __post_init__(self) -> None:
        for name, values in (("temperatures", self.temperature_c), ("humidities", self.relative_humidity_pct)):
            if len(values) != 12:
                raise ValueError(f"a climate needs 12 monthly {name}, January to December; {len(values)} given")
        for month in range(12):
            within(f"mean temperature of month {month + 1}", self.temperature_c[month], -40, 50, "°C")
            within(f"mean humidity of month {month + 1}", self.relative_humidity_pct[month], 5, 100, "%")
        within("altitude", self.altitude_m, -500, 5000, "m")

    def daily(self, first: date, days: int) -> tuple[FloatArray, FloatArray]:
        """Daily mean temperature °C and relative humidity %, `days` long from `first`; smooth, months keep their means.

        Humidity is held to 3..100 %, which can move the mean of a month that lies at the very end of that range. Days
        1..36600.
        """
        within("number of days", days, 1, 36_600, "")
        temperature, humidity = _year(self)
        index = day_of_year(first.toordinal() + np.arange(days))
        return temperature[index], humidity[index]


@lru_cache(maxsize=256)
def _year(climate: Climate) -> tuple[FloatArray, FloatArray]:
    humidity = np.clip(_smoothed(climate.relative_humidity_pct), 3.0, 100.0)
    return _smoothed(climate.temperature_c), humidity


@lru_cache(maxsize=256)
def air_of_year(climate: Climate, exposure: Exposure) -> Air:
    """The 365 days' air where a stack stands, ready for the drying model."""
    temperature, humidity = _year(climate)
    shifted = humidity + EFFECTS[exposure].humidity_shift_pct
    return Air.of(temperature, shifted, float(pressure_pa(climate.altitude_m)))


def equilibrium_pct(climate: Climate, exposure: Exposure, when: int | date) -> float:
    """Moisture content, %, that wood would come to in the mean air of a month (1..12) or of a day.

    From the month's mean temperature and humidity; the mean of hourly equilibria is 0.5 to 2.5 points higher in damp
    months (typical-year weather, computed), so this is what the place can reach rather than what it is on average.
    """
    if isinstance(when, date):
        temperature, humidity = (float(values[0]) for values in climate.daily(when, 1))
    else:
        month = int(within("month", when, 1, 12, "")) - 1
        temperature, humidity = climate.temperature_c[month], climate.relative_humidity_pct[month]
    return equilibrium_of_air_pct(temperature, humidity, exposure)


def equilibrium_of_air_pct(temperature_c: float, relative_humidity_pct: float, exposure: Exposure) -> float:
    """Moisture content, %, that wood comes to where a stack stands, in outdoor air of this temperature and humidity."""
    shifted = relative_humidity_pct + EFFECTS[exposure].humidity_shift_pct
    return float(equilibrium_moisture_pct(temperature_c, shifted, clamped=True))


def lowest_equilibrium_pct(climate: Climate, exposure: Exposure) -> float:
    """Lowest daily equilibrium moisture content of the year, %: the best the place can reach."""
    return 100 * float(air_of_year(climate, exposure).equilibrium.min())


@dataclass(frozen=True, slots=True)
class Preset:
    """A climate to start from; `note` says where it comes from."""

    key: str
    name: str
    climate: Climate
    note: str


def _preset(key: str, name: str, temperature_c: tuple[float, ...], humidity_pct: tuple[float, ...]) -> Preset:
    return Preset(key, name, Climate(temperature_c, humidity_pct), "invented")


PRESETS = {
    preset.key: preset
    for preset in (
        _preset(
            "temperate_inland",
            "Temperate, inland",
            (-0.5, 0.8, 4.8, 9.4, 14.2, 17.5, 19.3, 18.7, 14.6, 9.5, 4.3, 0.7),
            (85, 80, 74, 68, 68, 69, 68, 70, 76, 82, 86, 87),
        ),
        _preset(
            "mild_coast",
            "Mild, by the sea",
            (5.6, 5.8, 7.4, 9.3, 12.2, 14.9, 16.8, 16.9, 14.9, 11.9, 8.5, 6.3),
            (86, 84, 81, 77, 76, 76, 77, 78, 80, 83, 85, 87),
        ),
        _preset(
            "cool_upland",
            "Cool upland",
            (-3.5, -2.8, 0.7, 5.0, 10.0, 13.4, 15.2, 14.7, 10.9, 6.4, 1.0, -2.4),
            (87, 84, 79, 73, 72, 74, 74, 76, 80, 84, 88, 89),
        ),
        _preset(
            "cold_continental",
            "Cold winters, warm summers",
            (-8.5, -6.3, 0.2, 7.6, 14.0, 19.0, 21.6, 20.3, 15.6, 9.4, 1.8, -5.4),
            (75, 73, 71, 66, 65, 67, 69, 73, 75, 71, 76, 78),
        ),
        _preset(
            "warm_dry",
            "Warm, dry summers",
            (7.2, 8.6, 11.4, 13.9, 18.2, 23.0, 26.2, 25.9, 21.9, 16.7, 11.2, 8.0),
            (74, 69, 62, 59, 53, 46, 41, 44, 53, 64, 72, 76),
        ),
    )
}
