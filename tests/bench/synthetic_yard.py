"""Stacks that dry by another model than the forecast's, in weather the forecast does not know: a test of its spread.

The truth: six unequal boards a stack; ten equal cells; Simpson's form of the diffusion coefficient, D = A exp(-5280/T)
exp(1.145 M) (Simpson 1993, recalled), against the forecast's Siau; a surface that emits in proportion to its moisture
above equilibrium and to the saturation pressure, without evaporative cooling; rates of inside, surface and free water
that stray independently; daily weather with memory, damp spells, warm and dry months, a site that is damper or drier
than its climate table. All invented. A is set so that the median stack takes as long in steady air as the forecast's
median one: the prior is right in the middle, unless `off` says otherwise. Moisture is a fraction.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from drying.air import saturation_pressure_pa
from drying.climate import PRESETS, Climate, Exposure
from drying.diffusion import Air, Boards, start, step
from drying.forecast import StackInput, Stay, Wood
from drying.wood import equilibrium_moisture_pct

BOARDS, CELLS, STEPS_PER_DAY, LONGEST_DAYS = 6, 10, 4, 900
TARGET = 0.20
SPECIES = (  # wood, green moisture
    (Wood(560, 1, 0.41, 0.45), 0.80),
    (Wood(600, 1, 0.32, 0.45), 0.70),
    (Wood(560, 2, 0.41, 0.45), 0.68),
    (Wood(380, 5, 0.35, 0.45), 0.80),
    (Wood(400, 5, 0.38, 0.45), 0.95),
    (Wood(550, 2, 0.27, 0.45), 0.45),
    (Wood(450, 3, 0.35, 0.45), 0.45),
    (Wood(510, 1, 0.35, 0.45), 0.85),
)
CLIMATES = ("temperate_inland", "cool_upland", "cold_continental")
THICKNESSES = (25.0, 27.0, 32.0, 40.0, 50.0)


def slow_part(temperature_c: np.ndarray) -> np.ndarray:
    """exp(-5280/T) against 20 °C."""
    return np.exp(-5280 / (temperature_c + 273.15) + 5280 / 293.15)


@dataclass(frozen=True)
class Truth:
    """`stacks` without readings; moisture by day: `mean` [stacks, days], `boards` [stacks, boards, days]; the weather
    they dried in, [stacks, days]."""

    stacks: list[StackInput]
    mean: np.ndarray
    boards: np.ndarray
    temperature_c: np.ndarray
    humidity_pct: np.ndarray

    def ready_day(self) -> np.ndarray:
        """Days from the start to the target, inf where never."""
        below = self.mean <= TARGET
        return np.where(below.any(1), below.argmax(1), np.inf)


def _dry(moisture, half_m, inside, emission, free, temperature_c, humidity_pct):  # type: ignore[no-untyped-def]
    """March boards [K] through daily weather [K, days]; return mean moisture at the end of each day [K, days + 1]."""
    profile = np.repeat(moisture[:, None], CELLS, 1)
    width, means = half_m / CELLS, [moisture]
    seconds = 86400 / STEPS_PER_DAY
    pressure = saturation_pressure_pa(temperature_c) / saturation_pressure_pa(20.0)
    equilibrium = equilibrium_moisture_pct(temperature_c, humidity_pct, clamped=True) / 100
    slow = slow_part(temperature_c)
    for day in range(temperature_c.shape[1]):
        for _ in range(STEPS_PER_DAY):
            bound = np.minimum(profile, 0.29)
            wet = np.clip((profile - 0.29) / 0.08, 0, 1)
            d = (inside * slow[:, day])[:, None] * np.exp(1.145 * (bound - 0.12)) * (1 + (free[:, None] - 1) * wet)
            link = 2 * d[:, 1:] * d[:, :-1] / (d[:, 1:] + d[:, :-1]) * (seconds / width**2)[:, None]
            at_face = 1 / (1 / (emission * pressure[:, day]) + width / 2 / d[:, -1]) * seconds / width
            profile = _implicit(profile, link, at_face, equilibrium[:, day])
        means.append(profile.mean(1))
    return np.stack(means, 1)


def _implicit(profile, link, at_face, equilibrium):  # type: ignore[no-untyped-def]
    above = np.zeros_like(profile)
    right = np.zeros_like(profile)
    pivot = 1 + link[:, 0]
    above[:, 0], right[:, 0] = link[:, 0] / pivot, profile[:, 0] / pivot
    for i in range(1, CELLS):
        outward = link[:, i] if i < CELLS - 1 else at_face
        pivot = 1 + link[:, i - 1] * (1 - above[:, i - 1]) + outward
        above[:, i] = outward / pivot
        source = equilibrium * at_face if i == CELLS - 1 else 0.0
        right[:, i] = (profile[:, i] + link[:, i - 1] * right[:, i - 1] + source) / pivot
    result = right.copy()
    for i in range(CELLS - 2, -1, -1):
        result[:, i] += above[:, i] * result[:, i + 1]
    return result


def _memory(rng: np.random.Generator, count: int, days: int, memory: float) -> np.ndarray:
    noise = rng.standard_normal((count, days))
    for day in range(1, days):
        noise[:, day] = memory * noise[:, day - 1] + np.sqrt(1 - memory**2) * noise[:, day]
    return noise


def _weather(rng: np.random.Generator, climate: Climate, starts: list[date]) -> tuple[np.ndarray, np.ndarray]:
    count, days = len(starts), LONGEST_DAYS
    usual = [climate.daily(start, days) for start in starts]
    months = np.array([[(start.month + day // 30) for day in range(days)] for start in starts]) - 1
    warm, dry = rng.standard_normal((count, 60)) * 1.3, rng.standard_normal((count, 60)) * 4
    row = np.arange(count)[:, None]
    daily = _memory(rng, count, days, 0.75)
    temperature = np.stack([t for t, _ in usual]) + 3.5 * daily + warm[row, months % 60]
    wet_spell = _memory(rng, count, days, 0.6) > 0.9
    humidity = np.stack([h for _, h in usual]) - 3 * daily + 6 * _memory(rng, count, days, 0.6) + dry[row, months % 60]
    humidity += 10 * wet_spell - 1.84 + 2 * rng.standard_normal((count, 1))
    return temperature, np.clip(humidity, 15, 98)


def _scales() -> np.ndarray:
    """Per species, D at 20 °C, 12 % with which 27 mm takes the forecast's median time in steady air, 15 °C, 70 %."""
    found = []
    air = Air.of(15.0, 70.0)
    for wood, green in SPECIES:
        boards, days = Boards.of(wood, 27.0), 0
        state = start(boards, np.array(green))
        while state.average > TARGET:
            state, days = step(state, boards, air, 86400 / 4), days + 1
        guesses = np.exp(np.linspace(-26.5, -22.5, 41))
        one = np.ones(len(guesses))
        steady = np.ones((len(guesses), 220))
        emission, free = 6e-8 * wood.rate / 0.4 * one, wood.permeability * one
        means = _dry(green * one, 0.0135 * one, guesses, emission, free, 15 * steady, 70 * steady)
        reached = np.where((means <= TARGET).any(1), (means <= TARGET).argmax(1), 999)
        found.append(np.exp(np.interp(-days / 4, -reached.astype(float), np.log(guesses))))
    return np.array(found)


def synthetic(count: int, seed: int, off: float = 1.0) -> Truth:
    """`count` stacks and how they really dried; `off` multiplies every true rate (a prior that is wrong)."""
    rng = np.random.default_rng(seed)
    scales = _scales()
    kinds = rng.integers(len(SPECIES), size=count)
    stacks, temperatures, humidities = [], [], []
    places = rng.integers(len(CLIMATES), size=count)
    for kind, place in zip(kinds, places, strict=True):
        wood, green = SPECIES[kind]
        start = date(2022, 1, 1) + timedelta(days=int(rng.integers(365)))
        climate = PRESETS[CLIMATES[place]].climate
        stay = Stay(start, climate, Exposure.OPEN_YARD)
        thickness = float(rng.choice(THICKNESSES))
        stacks.append(StackInput("", wood, thickness, start, 100 * green, 0.12, (stay,), (), 100 * TARGET))
        temperature, humidity = _weather(rng, climate, [start])
        temperatures.append(temperature[0])
        humidities.append(humidity[0])
    shape = (count, BOARDS)
    inside = (
        scales[kinds, None] * off * np.exp(0.40 * rng.standard_normal((count, 1)) + 0.25 * rng.standard_normal(shape))
    )
    rates = np.array([SPECIES[kind][0].rate for kind in kinds])[:, None]
    emission = 6e-8 * rates / 0.4 * off * np.exp(0.45 * rng.standard_normal((count, 1)) + 0 * inside)
    free = np.array([SPECIES[kind][0].permeability for kind in kinds])[:, None] ** np.exp(
        0.4 * rng.standard_normal((count, 1))
    )
    green = np.array([SPECIES[kind][1] for kind in kinds])[:, None]
    moisture = green * np.exp(0.10 * rng.standard_normal((count, 1)) + 0.15 * rng.standard_normal(shape))
    half = np.array([[stack.thickness_mm / 2000] for stack in stacks]) + 0 * inside
    flat = [np.broadcast_to(a, shape).ravel() for a in (moisture, half, inside, emission, free)]
    means = _dry(*flat, np.repeat(temperatures, BOARDS, 0), np.repeat(humidities, BOARDS, 0)).reshape(count, BOARDS, -1)
    return Truth(stacks, means.mean(1), means, np.stack(temperatures), np.stack(humidities))
