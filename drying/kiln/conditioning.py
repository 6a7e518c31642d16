"""Conditioning after a run: damp hot air that takes the stress out of the boards, where a kiln can make it.

USDA AH-188 ch. 7 and 9 and Wengert (recalled but for equalising): EMC of the target + 4 (hardwood) or + 3 (softwood) at
the last step's dry bulb, 16 to 24 h for 25 mm, about 48 h for 50 mm; its end is told by the prong test
(`drying.casehardening`), never by hours alone. A kiln without humidifying can only shut its vents.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drying import diffusion
from drying.kiln.balance import Settled, settle
from drying.kiln.chamber import Load, Plant
from drying.kiln.kilncourse import SHARES, USUAL, Moment
from drying.ranges import FloatArray, within
from drying.wood import equilibrium_moisture_pct, humidity_for_moisture_pct

HOURS_25MM, HOURS_50MM = 20.0, 48.0  # AH-188 ch. 9, recalled: 16 to 24 h, and up to about 48 h
RELIEF_C = 60.0  # below it stress is relieved slowly (FPL-GTR-118, recalled)
ENOUGH_PCT = 1.0  # EMC held within this of what was called for: our choice


@dataclass(frozen=True, slots=True)
class Conditioning:
    """What conditioning comes to: hours (0: this kiln cannot), EMC called for and held at the end, %, dry bulb, °C.

    Heater and fans kWh, water the wood took up, kg, the charge's mean moisture after it, %, and core less surface of
    the usual board, points, largest of the parcels. Without humidifying `held_emc_pct` is the dampest air that shut
    vents give. `notes`: "cannot_condition", "conditioning_cool" (under 60 °C: slow), "conditioning_weak" (EMC not
    reached).
    """

    hours: float
    called_emc_pct: float
    held_emc_pct: float
    dry_bulb_c: float
    heater_kwh: float
    fan_kwh: float
    water_taken_kg: float
    moisture_pct: float
    core_less_surface_pct: float
    notes: tuple[str, ...]


def conditioning_hours(thickness_mm: ArrayLike) -> FloatArray:
    """Usual hours for wood of 5..200 mm: 20 at 25.4 mm, 48 at 50.8, a power law through them (AH-188, recalled; the law
    between and beyond is our choice). Hardwood; softwood needs no more. ValueError outside."""
    power = np.log(HOURS_50MM / HOURS_25MM) / np.log(2)
    return HOURS_25MM * (within("thickness", thickness_mm, 5, 200, "mm") / 25.4) ** power


def condition(plant: Plant, load: Load, end: Moment, emc_pct: float, thickness_mm: float) -> Conditioning:
    """Condition a charge from the end of its run, in air of `emc_pct` at the dry bulb last called for, hour by hour.

    Without humidifying: one hour with the vents shut, to tell the dampest air; nothing of it is booked.
    """
    dry_bulb = np.array([end.wanted_c])
    humidity = humidity_for_moisture_pct(dry_bulb, emc_pct)
    state = diffusion.State(end.profile[..., None], end.surface[:, None], end.moisture[:, None])
    able = bool(plant.humidifies[0])
    hours = float(np.ceil(conditioning_hours(thickness_mm))) if able else 1.0
    before = (np.array([end.temperature_c]), np.array([end.humidity_pct]))
    heater = taken = 0.0
    for _ in range(round(hours)):
        settled = settle(plant, load, state, *before, dry_bulb, humidity, np.array([3600.0]))
        state, before = settled.state, (settled.temperature_c, settled.humidity_pct)
        heater += float(settled.heater_w[0]) / 1000
        taken -= 3600 * float(settled.evaporation_kg_s[0])
    if not able:
        state = diffusion.State(end.profile[..., None], end.surface[:, None], end.moisture[:, None])
        hours = heater = taken = 0.0
    return _told(settled, load, state, emc_pct, hours, heater, hours * float(plant.fan_w[0]) / 1000, taken)


def _told(
    settled: Settled,
    load: Load,
    state: diffusion.State,
    emc_pct: float,
    hours: float,
    heater_kwh: float,
    fan_kwh: float,
    taken_kg: float,
) -> Conditioning:
    temperature, humidity = float(settled.temperature_c[0]), float(settled.humidity_pct[0])
    held = float(equilibrium_moisture_pct(temperature, humidity, clamped=True))
    weak = held < emc_pct - ENOUGH_PCT
    notes = {
        "cannot_condition": not hours and weak,
        "conditioning_weak": bool(hours) and weak,
        "conditioning_cool": temperature < RELIEF_C,
    }
    usual = slice(USUAL, None, len(SHARES))
    return Conditioning(
        hours=hours,
        called_emc_pct=emc_pct,
        held_emc_pct=held,
        dry_bulb_c=temperature,
        heater_kwh=heater_kwh,
        fan_kwh=fan_kwh,
        water_taken_kg=taken_kg,
        moisture_pct=100 * float(np.average(state.average[:, 0], weights=load.dry_kg[:, 0])),
        core_less_surface_pct=100 * float((state.profile[0, usual, 0] - state.surface[usual, 0]).max()),
        notes=tuple(code for code, true in notes.items() if true),
    )
