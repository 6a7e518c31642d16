"""Air and what wood comes to in it: equilibrium moisture both ways, humidity, wet bulb, dew point."""

from drying import air, wood
from yard.outlook.tools.answer import Answer, RefusedError

COLDEST_C, HOTTEST_C = -20.0, 90.0
COLDEST_WET_C = -30.0
HIGHEST_M = 2500.0  # up to there water of 90 °C does not boil, so that each humidity has its air
CHECKED_C, CHECKED_PCT = (-1.1, 98.9), (5.0, 95.0)  # the published table's span
DRIEST_WITH_DEW_PCT = 1.0


def moist_air(
    temperature_c: float,
    *,
    humidity_pct: float | None = None,
    wet_bulb_c: float | None = None,
    dew_point_c: float | None = None,
    altitude_m: float = 0.0,
) -> Answer:
    """Humidity, wet bulb, dew point and water (g per kg of dry air) of air of which one of the three is known."""
    pressure = float(air.pressure_pa(altitude_m))
    humidity = _humidity(temperature_c, humidity_pct, wet_bulb_c, dew_point_c, pressure)
    water = 1000 * float(air.humidity_ratio(temperature_c, humidity, pressure))
    return Answer({**_shown_air(temperature_c, humidity, pressure), "water": water})


def equilibrium(
    temperature_c: float,
    *,
    humidity_pct: float | None = None,
    wet_bulb_c: float | None = None,
    altitude_m: float = 0.0,
) -> Answer:
    """The moisture that wood comes to in this air."""
    pressure = float(air.pressure_pa(altitude_m))
    humidity = _humidity(temperature_c, humidity_pct, wet_bulb_c, None, pressure)
    emc = float(wood.equilibrium_moisture_pct(temperature_c, humidity))
    return Answer({"emc": emc, **_shown_air(temperature_c, humidity, pressure)}, _checked(temperature_c, humidity))


def air_for(temperature_c: float, moisture_pct: float, *, altitude_m: float = 0.0) -> Answer:
    """The air of this temperature that holds wood at this moisture."""
    most = float(wood.equilibrium_moisture_pct(temperature_c, 100))
    if moisture_pct > most:
        raise RefusedError("emc", "too_damp", most=most)
    humidity = float(wood.humidity_for_moisture_pct(temperature_c, moisture_pct))
    pressure = float(air.pressure_pa(altitude_m))
    return Answer(_shown_air(temperature_c, humidity, pressure), _checked(temperature_c, humidity))


def _humidity(
    temperature_c: float, humidity_pct: float | None, wet_c: float | None, dew_c: float | None, pressure_pa: float
) -> float:
    given = [name for name, value in (("rh", humidity_pct), ("wet", wet_c), ("dew", dew_c)) if value is not None]
    if len(given) != 1:
        raise RefusedError(given[1] if given else "rh", "one_only" if given else "one_of")
    if wet_c is not None:
        return _by_wet_bulb(temperature_c, wet_c, pressure_pa)
    if dew_c is not None:
        return _by_dew_point(temperature_c, dew_c)
    assert humidity_pct is not None
    return humidity_pct


def _by_wet_bulb(temperature_c: float, wet_c: float, pressure_pa: float) -> float:
    if wet_c > temperature_c:
        raise RefusedError("wet", "swapped", wet=wet_c, t=temperature_c)
    try:
        found = float(air.relative_humidity_pct(temperature_c, wet_c, pressure_pa))
    except ValueError:
        least = float(air.wet_bulb_c(temperature_c, 0, pressure_pa))
        raise RefusedError("wet", "too_dry", wet=wet_c, least=least) from None
    return min(found, 100.0)  # saturated air may come out a rounding above


def _by_dew_point(temperature_c: float, dew_c: float) -> float:
    if dew_c > temperature_c:
        raise RefusedError("dew", "dew_above", dew=dew_c, t=temperature_c)
    share = air.saturation_pressure_pa(dew_c) / air.saturation_pressure_pa(temperature_c)
    return min(100 * float(share), 100.0)


def _shown_air(temperature_c: float, humidity_pct: float, pressure_pa: float) -> dict[str, float | None]:
    wet = float(air.wet_bulb_c(temperature_c, humidity_pct, pressure_pa))
    has_dew = humidity_pct >= DRIEST_WITH_DEW_PCT
    return {
        "rh": humidity_pct,
        "wet": wet,
        "depression": temperature_c - wet,
        "dew": float(air.dew_point_c(temperature_c, humidity_pct)) if has_dew else None,
    }


def _checked(temperature_c: float, humidity_pct: float) -> tuple[str, ...]:
    inside = CHECKED_C[0] <= temperature_c <= CHECKED_C[1] and CHECKED_PCT[0] <= humidity_pct <= CHECKED_PCT[1]
    return () if inside else ("beyond_table",)
