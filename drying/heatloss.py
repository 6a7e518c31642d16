"""A kiln's real heat loss and air exchange, from what its runs used and lost: the chamber's balance turned round.

Over a run the electricity goes into evaporation, sorption, vent air, walls and warming (drying method §8; the same
terms as in `drying.heat`). All but the walls follow from the water, the air and the wood, so the rest is the walls'.
Air between two records is straight; a record's error counts once a run. °C, %, kWh, kg, m2, W/m2K. Figures out of range
raise ValueError naming quantity, value and range.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from drying import air
from drying.kiln.balance import STRUCTURE_J_K
from drying.ranges import FloatArray, within
from drying.wood import heat_capacity_j_kg_k, sorption_heat_j_kg

LEAST_GAIN = 5e-4  # kg/kg, of vent air: less is not told apart from none
# What is uncertain of a run, one standard deviation each: choices, no source, but for a mechanical meter's class.
METER_SHARE, MOISTURE_PCT, INSIDE_K, OUTSIDE_K, HUMIDITY_PCT, SORPTION_OFF = 0.02, 1.0, 1.0, 2.0, 5.0, 0.5
RUN_LOG_SD = 0.15  # from run to run: wind, sun, doors; a choice
POSSIBLE_W_M2K = (0.05, 6.0)
NINE_IN_TEN = 1.2815515655446004


@dataclass(frozen=True, slots=True)
class RunHeat:
    """One run: records of air and wood [n >= 2] at `hours` from its start, and what it used.

    hours 0..20000, rising; temperature 0..100 °C, humidity 1..100 %, moisture 0..400 % (mean of the charge by dry mass,
    falling on the whole); electricity of heater and fans 0..1e6 kWh; oven-dry mass 1..1e6 kg; walls, floor and roof
    1..10000 m2; outdoor air -40..50 °C, 0..100 %, its mean. `humidity_known` False: taken from the schedule, and
    trusted less. `moistened_leak_kg_h`: outdoor air that leaks in with vents shut and is kept damp by spray or steam,
    kg/h 0..1e5; 0 where no moisture is added.
    """

    key: str
    hours: FloatArray
    temperature_c: FloatArray
    humidity_pct: FloatArray
    moisture_pct: FloatArray
    electricity_kwh: float
    dry_kg: float
    wall_m2: float
    outdoor_temperature_c: float
    outdoor_humidity_pct: float
    altitude_m: float = 0.0
    humidity_known: bool = True
    moistened_leak_kg_h: float = 0.0

    def __post_init__(self) -> None:
        hours = within("hours of a run", self.hours, 0, 20_000, "h")
        if hours.ndim != 1 or len(hours) < 2 or np.any(np.diff(hours) <= 0):
            raise ValueError("hours of a run: two or more, rising, are needed")
        within("kiln temperature", self.temperature_c, 0, 100, "°C")
        within("kiln humidity", self.humidity_pct, 1, 100, "%")
        within("moisture content", self.moisture_pct, 0, 400, "%")
        within("electricity", self.electricity_kwh, 0, 1e6, "kWh")
        within("oven-dry mass", self.dry_kg, 1, 1e6, "kg")
        within("area of the walls", self.wall_m2, 1, 10_000, "m²")
        within("outdoor temperature", self.outdoor_temperature_c, -40, 50, "°C")
        within("outdoor humidity", self.outdoor_humidity_pct, 0, 100, "%")
        within("altitude", self.altitude_m, -500, 5000, "m")
        within("moistened leak", self.moistened_leak_kg_h, 0, 1e5, "kg/h")


@dataclass(frozen=True, slots=True)
class Terms:
    """Where a run's electricity went, kWh: `walls` is what is left over; `degree_hours`, K h, that the walls bore.
    `humidifying`: for water that was added, by the held air; nobody need have measured it."""

    evaporation: float
    sorption: float
    vents: float
    humidifying: float
    warming: float
    walls: float
    degree_hours: float


def terms(run: RunHeat) -> Terms:
    """The balance of a run, kWh (drying method §8; sorption as in `drying.heat`, of the mean moisture)."""
    span = np.diff(run.hours)
    inside, humidity = _middle(run.temperature_c), _middle(run.humidity_pct)
    lost_kg = run.dry_kg * -np.diff(run.moisture_pct) / 100
    latent = air.latent_heat_j_kg(inside)
    pressure = float(air.pressure_pa(run.altitude_m))
    outside = float(air.humidity_ratio(run.outdoor_temperature_c, run.outdoor_humidity_pct, pressure))
    gain = np.maximum(air.humidity_ratio(inside, humidity, pressure) - outside, LEAST_GAIN)
    rise = inside - run.outdoor_temperature_c
    leaked_kg = run.moistened_leak_kg_h * span
    added_kg = np.maximum(leaked_kg * gain - np.maximum(lost_kg, 0), 0)  # what the wood did not give to that air
    changed_kg = np.maximum(np.maximum(lost_kg, 0) / gain, leaked_kg)
    spent = {
        "evaporation": float((lost_kg * latent).sum()),
        "sorption": run.dry_kg * float(np.diff(sorption_heat_j_kg([run.moisture_pct[0], run.moisture_pct[-1]]))[0]),
        "vents": float((changed_kg * (1006 + 1860 * outside) * rise).sum()),
        "humidifying": float((added_kg * latent).sum()),
        "warming": _warming_j(run),
    }
    found = {name: joule / 3.6e6 for name, joule in spent.items()}
    return Terms(**found, walls=run.electricity_kwh - sum(found.values()), degree_hours=float((rise * span).sum()))


def _middle(values: FloatArray) -> FloatArray:
    """The mean of each two neighbours."""
    array = np.asarray(values, float)
    return (array[1:] + array[:-1]) / 2


def _warming_j(run: RunHeat) -> float:
    """Heat that wood, water and fittings took up; water is warmed before it leaves."""
    moisture, inside = _middle(run.moisture_pct), _middle(run.temperature_c)
    per_dry_kg = (1 + moisture / 100) * heat_capacity_j_kg_k(np.maximum(inside, 7.0), moisture)
    return float(((run.dry_kg * per_dry_kg + STRUCTURE_J_K) * np.diff(run.temperature_c)).sum())


@dataclass(frozen=True, slots=True)
class WallsFound:
    """Heat through the walls as one run tells it, W/m2K, with one standard deviation; `terms` where the rest went."""

    key: str
    u_w_m2k: float
    sd_w_m2k: float
    terms: Terms

    @property
    def is_possible(self) -> bool:
        """Whether the balance adds up to walls that there are (0.05 to 6 W/m2K)."""
        return POSSIBLE_W_M2K[0] <= self.u_w_m2k <= POSSIBLE_W_M2K[1]


def walls(run: RunHeat) -> WallsFound:
    """What one run tells of its kiln's walls, W/m2K. ValueError where the kiln was no warmer than outdoors.

    The spread puts together, one by one, what is uncertain of meter, moistures, air inside and out, and sorption
    (figures above: choices, no source).
    """
    found = terms(run)
    if found.degree_hours < 24:
        raise ValueError(f"warmth of the kiln over outdoors {found.degree_hours:.0f} K h is outside 24 to 1e7 K h")
    usual = _u(found, run)
    damp = HUMIDITY_PCT * (1 if run.humidity_known else 2)
    others = [
        replace(run, electricity_kwh=run.electricity_kwh * (1 + METER_SHARE)),
        replace(run, moisture_pct=np.asarray(run.moisture_pct) + np.linspace(MOISTURE_PCT, 0, len(run.hours))),
        replace(run, moisture_pct=np.asarray(run.moisture_pct) + np.linspace(0, MOISTURE_PCT, len(run.hours))),
        replace(run, temperature_c=np.clip(np.asarray(run.temperature_c) - INSIDE_K, 0, 100)),
        replace(run, outdoor_temperature_c=max(run.outdoor_temperature_c - OUTSIDE_K, -40.0)),
        replace(run, humidity_pct=np.clip(np.asarray(run.humidity_pct) + damp, 1, 100)),
    ]
    shifts = [_u(terms(one), one) - usual for one in others]
    shifts.append(1e3 * SORPTION_OFF * found.sorption / (run.wall_m2 * found.degree_hours))
    return WallsFound(run.key, usual, float(np.sqrt(np.sum(np.square(shifts)))), found)


def _u(found: Terms, run: RunHeat) -> float:
    return 1e3 * found.walls / (run.wall_m2 * found.degree_hours)


@dataclass(frozen=True, slots=True)
class Pooled:
    """A figure from several runs: its value, P10 and P90 `band`, how many runs, and the `keys` left out."""

    value: float
    band: tuple[float, float]
    runs: int
    left_out: tuple[str, ...] = ()


def pooled_walls(found: Sequence[WallsFound]) -> Pooled | None:
    """Runs of one kiln together, weighted by how sure each is, W/m2K; None where none adds up.

    Each run strays from the kiln's mean by a further 15 % (a choice); runs that can't be are left out and named.
    """
    good = [one for one in found if one.is_possible]
    if not good:
        return None
    values = np.array([one.u_w_m2k for one in good])
    spread = np.array([np.hypot(one.sd_w_m2k, RUN_LOG_SD * one.u_w_m2k) for one in good])
    out = tuple(one.key for one in found if not one.is_possible)
    return _pooled(values, spread, POSSIBLE_W_M2K[0], out)


def _pooled(values: FloatArray, spread: FloatArray, least: float, out: tuple[str, ...]) -> Pooled:
    weights = 1 / spread**2
    mean, sd = float((weights * values).sum() / weights.sum()), float(weights.sum() ** -0.5)
    side = NINE_IN_TEN * sd
    return Pooled(mean, (max(mean - side, least), mean + side), len(values), out)


@dataclass(frozen=True, slots=True)
class Shut:
    """A stretch of a run with its vents shut: hours, kg of water lost, the air inside and out, °C and %, and the free
    air volume, m3 (the chamber less its wood)."""

    hours: float
    water_kg: float
    temperature_c: float
    humidity_pct: float
    outdoor_temperature_c: float
    outdoor_humidity_pct: float
    free_m3: float
    altitude_m: float = 0.0

    def __post_init__(self) -> None:
        within("hours with vents shut", self.hours, 0.5, 5000, "h")
        within("water lost", self.water_kg, 0, 1e5, "kg")
        within("kiln temperature", self.temperature_c, 0, 100, "°C")
        within("kiln humidity", self.humidity_pct, 1, 100, "%")
        within("outdoor temperature", self.outdoor_temperature_c, -40, 50, "°C")
        within("outdoor humidity", self.outdoor_humidity_pct, 0, 100, "%")
        within("free air volume", self.free_m3, 0.05, 1e5, "m³")
        within("altitude", self.altitude_m, -500, 5000, "m")


def air_changes_per_h(stretch: Shut) -> float | None:
    """Air that leaks with the vents shut, as changes an hour of the free volume (water balance, drying method §8):
    what the wood gave off, over what each kg of air carried away. None where the air inside is hardly damper."""
    pressure = float(air.pressure_pa(stretch.altitude_m))
    inside = float(air.humidity_ratio(stretch.temperature_c, stretch.humidity_pct, pressure))
    outside = float(air.humidity_ratio(stretch.outdoor_temperature_c, stretch.outdoor_humidity_pct, pressure))
    if inside - outside < LEAST_GAIN:
        return None
    per_change = stretch.free_m3 * pressure / (287.05 * (stretch.outdoor_temperature_c + 273.15))
    return stretch.water_kg / stretch.hours / (inside - outside) / per_change


def pooled_leak(stretches: Sequence[Shut]) -> Pooled | None:
    """Stretches of one kiln together, changes an hour of its free m3, weighted by their hours; None where none tells.

    The band comes from their spread and a third of the value (a choice), which one stretch alone would have.
    """
    told = [(one, rate) for one in stretches if (rate := air_changes_per_h(one)) is not None]
    if not told:
        return None
    hours = np.array([one.hours for one, _ in told])
    rates = np.array([rate for _, rate in told])
    mean = float((hours * rates).sum() / hours.sum())
    apart = float(np.sqrt((hours * (rates - mean) ** 2).sum() / hours.sum()))
    side = NINE_IN_TEN * float(np.hypot(apart, mean / 3)) / len(told) ** 0.5
    return Pooled(mean, (max(mean - side, 0.0), mean + side), len(told))


TERM_NAMES = tuple(one.name for one in fields(Terms) if one.name != "degree_hours")
"""Names of the balance's terms, in the order of `Terms`."""
