"""Observed weather: a place's daily log, and the air that it makes of past days about a stack.

Temperatures °C, relative humidities %, rain mm a day. Where the log has a day, that day counts; before it, in its gaps
and after it the place's climate does. Fields for the drying model are in drying.diffusion.Air (FRACTIONS there).
What lies outside the ranges below, a choice wide enough for any yard, raises ValueError.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from drying.air import pressure_pa, saturation_pressure_pa
from drying.climate import EFFECTS, Climate, Exposure
from drying.diffusion import Air
from drying.ranges import FloatArray, within

COLDEST_C, HOTTEST_C = -40.0, 50.0
DRIEST_PCT, DAMPEST_PCT = 1.0, 100.0
MOST_RAIN_MM = 500.0
RAIN_DAY_MM = 1.0  # the usual least depth of a "wet day" in climate records (recalled); less dries off within hours
MOST_DAYS = 100_000
LONGEST_STEP_DAYS = 10  # the forecast's longest step; the air of every step up to it is made ready


@dataclass(frozen=True, slots=True)
class Day:
    """One observed day: mean temperature (-40..50 °C), relative humidity (1..100 %), rain (0..500 mm) or None where
    nobody measured it. The day's humidity is that of its mean vapour pressure, as `mean_of_hours` makes it.

    Raises ValueError that names the quantity, its value and its range.
    """

    day: date
    temperature_c: float
    relative_humidity_pct: float
    rain_mm: float | None = None

    def __post_init__(self) -> None:
        within("temperature", self.temperature_c, COLDEST_C, HOTTEST_C, "°C")
        within("humidity", self.relative_humidity_pct, DRIEST_PCT, DAMPEST_PCT, "%")
        if self.rain_mm is not None:
            within("rain", self.rain_mm, 0, MOST_RAIN_MM, "mm")


@dataclass(frozen=True, slots=True)
class Log:
    """The days of one place in order of time, each once, at least one. Build it with `Log.of`."""

    days: tuple[Day, ...]
    _hash: int = field(default=0, compare=False, repr=False)  # hashing thousands of days at each look-up is slow

    @classmethod
    def of(cls, days: Iterable[Day]) -> "Log":
        """Raises ValueError when there is no day, or one twice."""
        ordered = tuple(sorted(days, key=lambda one: one.day))
        if not ordered:
            raise ValueError("a weather log needs at least one day")
        for earlier, later in pairwise(ordered):
            if earlier.day == later.day:
                raise ValueError(f"the weather log has {later.day} twice")
        return cls(ordered, hash(ordered))

    def __hash__(self) -> int:
        return self._hash

    @property
    def first(self) -> date:
        """Its first day."""
        return self.days[0].day

    @property
    def last(self) -> date:
        """Its last day."""
        return self.days[-1].day


def gaps(days: Iterable[date]) -> list[tuple[date, date]]:
    """First and last day of each stretch that is missing between the earliest and the latest day; no unit."""
    ordinals = np.unique([day.toordinal() for day in days])
    jumps = np.flatnonzero(np.diff(ordinals) > 1)
    return [(date.fromordinal(int(ordinals[i]) + 1), date.fromordinal(int(ordinals[i + 1]) - 1)) for i in jumps]


def mean_of_hours(temperature_c: ArrayLike, relative_humidity_pct: ArrayLike) -> tuple[float, float]:
    """Mean temperature, °C, and humidity, %, of several moments of a day.

    Not the mean of the humidities: that overrates cold nights, when little vapour makes a high humidity. The vapour
    pressures are averaged, and the humidity is what they are of saturation at the mean temperature, at most 100 %; so
    the air holds as much vapour as was measured.
    """
    temperature = within("temperature", temperature_c, COLDEST_C, HOTTEST_C, "°C")
    humidity = within("humidity", relative_humidity_pct, DRIEST_PCT, DAMPEST_PCT, "%")
    mean_c = float(temperature.mean())
    vapour_pa = float((humidity * saturation_pressure_pa(temperature)).mean())
    return mean_c, min(vapour_pa / float(saturation_pressure_pa(mean_c)), 100.0)


@dataclass(frozen=True, slots=True)
class Daily:
    """A run of days: temperature °C, relative humidity %, rain mm (nan: not known), and whether each was observed."""

    temperature_c: FloatArray
    relative_humidity_pct: FloatArray
    rain_mm: FloatArray
    observed: np.ndarray


def daily(climate: Climate, log: Log | None, first: date, days: int) -> Daily:
    """The air outdoors, °C and %, on `days` days (1..MOST_DAYS) from `first`: by the log, else by the climate."""
    days = int(within("number of days", days, 1, MOST_DAYS, ""))
    temperature, humidity = (values.copy() for values in climate.daily(first, days))
    rain, observed = np.full(days, np.nan), np.zeros(days, dtype=bool)
    if log is not None:
        at, *values = _columns(log)
        inside = (at >= first.toordinal()) & (at < first.toordinal() + days)
        where = at[inside] - first.toordinal()
        temperature[where], humidity[where], rain[where] = (value[inside] for value in values)
        observed[where] = True
    return Daily(temperature, humidity, rain, observed)


@lru_cache(maxsize=16)
def _columns(log: Log) -> tuple[np.ndarray, FloatArray, FloatArray, FloatArray]:
    """Ordinals, temperatures, humidities and rain of a log's days."""
    rows: Sequence[Day] = log.days
    rain = [np.nan if one.rain_mm is None else one.rain_mm for one in rows]
    temperatures, humidities = [one.temperature_c for one in rows], [one.relative_humidity_pct for one in rows]
    return np.array([one.day.toordinal() for one in rows]), np.array(temperatures), np.array(humidities), np.array(rain)


@dataclass(frozen=True, slots=True)
class ObservedAir:
    """The air about a stack over every stretch of 1 to LONGEST_STEP_DAYS days that touches the log.

    Row (n - 1) * count + (d - first_day) is the mean air of the n days from day d on (an ordinal; first_day <= d <
    first_day + count); `share` [rows] says how much of that stretch was observed, 0..1.
    """

    air: Air
    share: FloatArray
    first_day: int
    count: int


@lru_cache(maxsize=16)
def observed_air(climate: Climate, exposure: Exposure, log: Log) -> ObservedAir:
    """The air that a log makes where a stack stands: °C, moistures as fractions.

    Over several days vapour pressure is averaged as in `mean_of_hours`. On a day with at least RAIN_DAY_MM of rain an
    uncovered stack's surfaces are wet: air saturated at that day's temperature, which holds them at fibre saturation,
    neither drying nor, above it, wetting (all surfaces of the stack, all day: a choice on the slow side, no source).
    """
    begin = log.first.toordinal() - LONGEST_STEP_DAYS + 1
    count = log.last.toordinal() - begin + 1
    seen = daily(climate, log, date.fromordinal(begin), count + LONGEST_STEP_DAYS - 1)
    effect = EFFECTS[exposure]
    measured = effect.rained_on & ~np.isnan(seen.rain_mm)
    humidity = seen.relative_humidity_pct + np.where(measured, 0.0, effect.humidity_shift_pct)
    humidity, wet = np.clip(humidity, 3.0, 97.0), measured & (seen.rain_mm >= RAIN_DAY_MM)
    vapour_pa = np.where(wet, 100.0, humidity) * saturation_pressure_pa(seen.temperature_c)
    columns = (seen.temperature_c, vapour_pa, wet.astype(float), seen.observed.astype(float))
    temperature, vapour, wetness, share = (_stretches(column, count) for column in columns)
    means = np.minimum(vapour / saturation_pressure_pa(temperature), 100.0)
    air = Air.of(temperature, means, float(pressure_pa(climate.altitude_m)))
    return ObservedAir(_wetted(air, wetness), share, begin, count)


def _stretches(values: FloatArray, count: int) -> FloatArray:
    """Means over 1, 2 .. LONGEST_STEP_DAYS days from each of `count` days on, one after another."""
    sums = np.concatenate([[0.0], np.cumsum(values)])
    begin = np.arange(count)
    return np.concatenate([(sums[begin + n] - sums[begin]) / n for n in range(1, LONGEST_STEP_DAYS + 1)])


def _wetted(air: Air, wetness: FloatArray) -> Air:
    """The same with the stretches that were wet throughout as saturated air (Air.of stops at 97 %)."""
    wet = wetness > 0.999
    return replace(
        air,
        cooling=np.where(wet, 0.0, air.cooling),
        equilibrium=np.where(wet, air.saturation, air.equilibrium),
        activity=np.where(wet, 1.0, air.activity),
    )
