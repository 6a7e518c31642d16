"""Kiln runs: days, water, energy, and what ruled, for a charge of several parcels in a given chamber.

The wood is the yard's diffusion model at the kiln's air (drying method §5, §8); the chamber's balance is in
`drying.kiln.balance`. Warm-up and equalising are in the run's days; conditioning follows it, `KilnRun.conditioning`,
with its own hours and energy; cooling and loading are not there. `KilnRun.phases` tells what air was called for and
what this kiln held.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from drying import air, watch, wood
from drying.diffusion import Wood
from drying.kiln.chamber import Chamber, Plant
from drying.kiln.conditioning import Conditioning, condition, conditioning_hours
from drying.kiln.heatersteps import highest_kw, step_hours
from drying.kiln.kilncourse import (
    KILN_DRY_PCT,
    LIMITS,
    SHARES,
    SPEEDS,
    USUAL,
    Course,
    Moment,
    Runs,
    follow,
    load_of,
    weighted,
)
from drying.kiln.phases import Phase, notes_of, phases_of
from drying.kiln.runtable import RunRequest, RunTable, run_days, run_tables
from drying.ranges import FloatArray, within
from drying.schedules import Schedule, finish

__all__ = [
    "KILN_DRY_PCT",
    "Chamber",
    "Conditioning",
    "KilnRun",
    "Parcel",
    "Phase",
    "RunRequest",
    "RunTable",
    "conditioning_hours",
    "heater_kg_water_per_day",
    "humidity_range_pct",
    "kiln_run",
    "run_days",
    "run_tables",
]

STEP_H = 2.0
CHECKS_ABOVE_PCT = 40.0  # safe rates matter most down to about here (FPL-GTR-118, recalled)


@dataclass(frozen=True, slots=True)
class Parcel:
    """Wood of one kind in a charge: green volume m3, green thickness mm, mean moisture % at the start.

    `drying_group` and `safe_25mm_pct_per_day` set the risk's scale; None takes the wood class's own.
    """

    wood: Wood
    thickness_mm: float
    volume_m3: float
    moisture_pct: float
    drying_group: str | None = None
    safe_25mm_pct_per_day: float | None = None

    def __post_init__(self) -> None:
        within("thickness", self.thickness_mm, 5, 200, "mm")
        within("volume", self.volume_m3, 1e-3, 1000, "m³")
        within("moisture", self.moisture_pct, 1, 250, "%")

    @property
    def group(self) -> str:
        return self.drying_group or ("softwood" if self.wood.wood_class == "softwood" else "medium_hardwood")

    @property
    def safe_pct_per_day(self) -> float:
        thin = self.safe_25mm_pct_per_day or watch.GROUP_SAFE_RATE_PCT[self.group]
        return float(watch.safe_rate_pct_per_day(thin, self.thickness_mm))


@dataclass(frozen=True)
class KilnRun:
    """A run as computed. Series have one value per step, at its end; `moisture_pct` is each parcel's mean
    [parcels, steps], `wettest_pct` and `driest_pct` the slowest and fastest tenth's bound over all parcels.

    `energy_kwh`: evaporation, sorption, vents, walls, warming, humidifying; they add up to heater and fans.
    `limits`: share of the time each ruled, `ruled` which did in each step: schedule (the air is as wanted), heating_up,
    heater, vents (too small), leak (or open vents, drier than wanted).
    `risk`, all for the usual board: worst "rate" and "stress" of any parcel (1 = what the wood bears) while surface
    checks form, from green to two thirds of green or 40 %; "stress_core_wet" (while the core was above fibre
    saturation: tension set); "core_less_surface_pct" at the end. `reached` False: it came to rest above its target.
    `phases`: warming up, steps, equalising, in order, with the EMC called for and held; `conditioning`: what follows to
    a kiln-dry target (12 % or less), None else; `notes`: "drier_than_called" and "damper_than_called" (for more than a
    tenth of the time by over a point of EMC), "cannot_condition", "conditioning_cool", "conditioning_weak".
    `heater_step_hours`: hours with 0, 1, ... steps on, empty for a heater without steps; with steps `peak_kw` is the
    highest one used and the fans.
    """

    reached: bool
    days: float
    hours_by_step: tuple[float, ...]
    water_kg: float
    heater_kwh: float
    fan_kwh: float
    energy_kwh: dict[str, float]
    peak_kw: float
    limits: dict[str, float]
    ruled: tuple[str, ...]
    hours: FloatArray
    temperature_c: FloatArray
    humidity_pct: FloatArray
    moisture_pct: FloatArray
    wettest_pct: FloatArray
    driest_pct: FloatArray
    risk: dict[str, float]
    phases: tuple[Phase, ...]
    conditioning: Conditioning | None
    notes: tuple[str, ...]
    heater_step_hours: tuple[float, ...]

    @property
    def days_in_all(self) -> float:
        """Days to the target and, where the kiln can do it, of conditioning."""
        return self.days + (self.conditioning.hours / 24 if self.conditioning else 0.0)

    @cached_property
    def kwh_per_kg(self) -> float:
        """Electricity per kg of water taken out."""
        return (self.heater_kwh + self.fan_kwh) / self.water_kg


def kiln_run(
    chamber: Chamber,
    parcels: Sequence[Parcel],
    schedule: Schedule,
    target_pct: float,
    outdoor_temperature_c: float,
    outdoor_humidity_pct: float,
) -> KilnRun:
    """One run of a charge, started cold, led by the wetter half of its wettest parcel.

    To a target of 12 % or less it ends when the slow boards are there, and once the fast ones are two points under it
    the air dries them no further (equalising rule, Wengert); above 12 % it ends when the wettest parcel's mean is.
    Target 3..60 %, outdoor air -40..50 °C and 0..100 %. ValueError outside, without parcels, or where all are already
    at the target.
    """
    within("target moisture content", target_pct, 3, 60, "%")
    within("outdoor temperature", outdoor_temperature_c, -40, 50, "°C")
    if not parcels or max(one.moisture_pct for one in parcels) <= target_pct:
        raise ValueError(f"no wood in the charge is wetter than the target of {target_pct:g} %; nothing to dry")
    volume, thickness, moisture = (
        np.array([[getattr(one, name)] for one in parcels], float)
        for name in ("volume_m3", "thickness_mm", "moisture_pct")
    )
    plant = Plant.of([chamber], volume.sum(0), outdoor_temperature_c, outdoor_humidity_pct)
    load = load_of([[one.wood] for one in parcels], thickness, volume, [chamber])
    runs = Runs.begin([chamber], plant, load, moisture / 100, [schedule], np.array([target_pct / 100]))
    course = follow(runs, longest_step_h=STEP_H, record=True)
    closing = None
    if target_pct <= KILN_DRY_PCT and np.isfinite(course.hours[0]):
        wood_class = "hardwood" if any(one.wood.wood_class == "hardwood" for one in parcels) else "softwood"
        wanted = finish(target_pct, wood_class).condition_pct
        thickest = max(one.thickness_mm for one in parcels)
        closing = condition(plant, load, course.moments[-1], wanted, thickest)
    run = _told(course, parcels, schedule, load.boards.widths, closing)
    return run if chamber.heater_steps is None else _stepped(run, course.moments, chamber)


def _stepped(run: KilnRun, moments: Sequence[Moment], chamber: Chamber) -> KilnRun:
    heater = np.array([one.heater_kw for one in moments])
    lasted = np.array([one.hours for one in moments])
    on_hours = step_hours(heater, lasted, chamber.heater_kw, chamber.heater_steps or 1)
    return replace(run, heater_step_hours=on_hours, peak_kw=highest_kw(on_hours, chamber.heater_kw) + chamber.fan_kw)


def heater_kg_water_per_day(
    chamber: Chamber,
    temperature_c: float,
    humidity_pct: float,
    outdoor_temperature_c: float,
    outdoor_humidity_pct: float,
) -> float:
    """Most water, kg a day, that the heater can take out at this kiln air in steady running (balance of §8, no warming
    and no sorption heat): fans and heater less walls, over latent heat and the warming of the vent air per kg.
    Kiln air 0..100 °C and 1..100 %, outdoor air -40..50 °C; ValueError outside."""
    within("kiln temperature", temperature_c, 0, 100, "°C")
    within("kiln humidity", humidity_pct, 1, 100, "%")
    within("outdoor temperature", outdoor_temperature_c, -40, 50, "°C")
    pressure = float(air.pressure_pa(chamber.altitude_m))
    inside = air.humidity_ratio(temperature_c, humidity_pct, pressure)
    outside = air.humidity_ratio(outdoor_temperature_c, outdoor_humidity_pct, pressure)
    rise = temperature_c - outdoor_temperature_c
    per_kg = air.latent_heat_j_kg(temperature_c) + (1006 + 1860 * outside) * rise / np.maximum(inside - outside, 1e-4)
    free_w = 1e3 * (chamber.heater_kw + chamber.fan_kw) - chamber.wall_w_k * rise
    return float(max(free_w, 0.0) / per_kg * 86400)


def humidity_range_pct(
    chamber: Chamber,
    temperature_c: float,
    evaporation_kg_h: float,
    outdoor_temperature_c: float,
    outdoor_humidity_pct: float,
) -> tuple[float, float]:
    """Driest and dampest air, %, that a kiln holds at this dry bulb while its wood gives off so much water: with vents
    wide open, and with vents shut and the leak alone. It cannot be damper without humidifying. Kiln 0..100 °C,
    evaporation 0..10000 kg/h, outdoors -40..50 °C (water balance, drying method §8); ValueError outside."""
    within("kiln temperature", temperature_c, 0, 100, "°C")
    within("evaporation", evaporation_kg_h, 0, 10_000, "kg/h")
    within("outdoor temperature", outdoor_temperature_c, -40, 50, "°C")
    empty = Plant.of([chamber], 0.0, outdoor_temperature_c, outdoor_humidity_pct)
    full = float(air.humidity_ratio(temperature_c, 100, empty.pressure_pa))
    saturated = float(air.saturation_pressure_pa(temperature_c))

    def humidity(exchange_kg_s: float) -> float:
        ratio = min(float(empty.outdoor_ratio[0]) + evaporation_kg_h / 3600 / exchange_kg_s, full)
        return 100 * empty.pressure_pa * ratio / (0.621945 + ratio) / saturated

    return humidity(float(empty.vent_kg_s[0])), humidity(max(float(empty.leak_kg_s[0]), 1e-9))


def _told(
    course: Course,
    parcels: Sequence[Parcel],
    schedule: Schedule,
    widths: FloatArray,
    closing: Conditioning | None,
) -> KilnRun:
    moments = course.moments
    phases = phases_of(moments)
    lasted = np.array([one.hours for one in moments])
    steps = np.array([one.step for one in moments])
    ruled = np.array([one.limit for one in moments])
    energy = {name: float(kwh[0]) for name, kwh in course.energy_kwh.items()}
    heater, fans = energy.pop("heater"), energy.pop("fans")
    reached = bool(np.isfinite(course.hours[0]))
    hours = np.cumsum(lasted)
    return KilnRun(
        reached=reached,
        days=float(hours[-1] / 24) if reached else float("inf"),
        hours_by_step=tuple(float(lasted[steps == i].sum()) for i in range(len(schedule.steps))),
        water_kg=float(course.water_kg[0]),
        heater_kwh=heater,
        fan_kwh=fans,
        energy_kwh=energy,
        peak_kw=float(course.peak_kw[0]),
        ruled=tuple(ruled.tolist()),
        limits={name: float(lasted[ruled == name].sum() / lasted.sum()) for name in LIMITS},
        hours=hours,
        temperature_c=np.array([one.temperature_c for one in moments]),
        humidity_pct=np.array([one.humidity_pct for one in moments]),
        moisture_pct=100 * np.stack([weighted(one.moisture[:, None], SHARES)[:, 0] for one in moments], axis=1),
        wettest_pct=100 * np.array([one.moisture.max() for one in moments]),
        driest_pct=100 * np.array([one.moisture.min() for one in moments]),
        risk=_risk(moments, parcels, widths, hours),
        phases=phases,
        conditioning=closing,
        notes=(*notes_of(phases), *(closing.notes if closing else ())),
        heater_step_hours=(),
    )


def _risk(
    moments: Sequence[Moment], parcels: Sequence[Parcel], widths: FloatArray, hours: FloatArray
) -> dict[str, float]:
    """Worst indices over parcels and time (drying method §9), the rate from day 2 on and above saturation only."""
    usual = slice(USUAL, None, len(SPEEDS))
    profile = 100 * np.stack([one.profile[:, usual] for one in moments], axis=-1)
    surface = 100 * np.stack([one.surface[usual] for one in moments], axis=-1)
    mean = np.tensordot(widths, profile, 1)
    saturation = wood.equilibrium_moisture_pct([one.temperature_c for one in moments], 100)
    worst = {"rate": 0.0, "stress": 0.0, "stress_core_wet": 0.0}
    for i, parcel in enumerate(parcels):
        checks_until = np.maximum(saturation, min(CHECKS_ABOVE_PCT, parcel.moisture_pct * 2 / 3))
        checking = mean[i] > checks_until
        before = np.interp(hours - 24, np.append(0, hours), np.append(parcel.moisture_pct, mean[i]))
        rate = np.where((hours >= 24) & checking, before - mean[i], 0) / parcel.safe_pct_per_day
        safe_emc = np.minimum(watch.GROUP_SAFE_EMC_PCT[parcel.group], saturation - 5)
        index = watch.stress_index(profile[:, i], widths, surface[i], saturation, safe_emc)
        wet, stress = np.where(profile[0, i] > saturation, index, 0), np.where(checking, index, 0)
        for name, values in (("rate", rate), ("stress", stress), ("stress_core_wet", wet)):
            worst[name] = max(worst[name], float(values.max()))
    return worst | {"core_less_surface_pct": float((profile[0, :, -1] - surface[:, -1]).max())}
