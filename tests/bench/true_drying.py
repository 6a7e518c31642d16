"""How the boards of `synthetic_yard` really dry: not the forecast's model.

Sixteen cells a half thickness, six-hour steps. Inside: D = d exp(-a (1/T - 1/293 K)) exp(b (M - 0.12)), either after
Simpson (a = 5280 K, b = 1.145; Simpson 1993, Wood Sci. Technol. 27: 409-420, recalled) or steeper in moisture and
flatter in temperature (a = 4300 K, b = 5: invented). At the face: in proportion to moisture above equilibrium, to the
saturation pressure and to the root of the wind, without evaporative cooling; for half of the stacks no wetter a face
gives off more than one at saturation. Frost slows the inside by a factor of the stack's own. Rain wets an uncovered
stack's face for a quarter of the day. Moisture is a fraction.
"""

from dataclasses import dataclass, fields

import numpy as np

from drying.air import saturation_pressure_pa
from drying.diffusion import cell_widths
from drying.wood import equilibrium_moisture_pct
from tests.bench.true_weather import Weather

STEPS_PER_DAY = 4
SECONDS = 86400 / STEPS_PER_DAY
WIDTHS = cell_widths(16, 1.12)
SATURATION, FACE_SATURATION, RAINED_ON = 0.29, 0.30, 0.45
LOOK_DAYS = 10  # stacks that are through are dropped so often


@dataclass(frozen=True)
class TrueBoards:
    """K boards, each array [K]. inside_m2_s: at 20 °C and 12 %; activation_k, slope: its dependence on temperature and
    moisture; emission_m_s: of the face at 20 °C; capped, uncovered: 0 or 1; free: factor of free water;
    frost: factor on the inside below 0 °C; initial: green moisture."""

    initial: np.ndarray
    half_m: np.ndarray
    inside_m2_s: np.ndarray
    activation_k: np.ndarray
    slope: np.ndarray
    emission_m_s: np.ndarray
    capped: np.ndarray
    free: np.ndarray
    frost: np.ndarray
    uncovered: np.ndarray

    def some(self, keep: np.ndarray) -> "TrueBoards":
        """The boards picked out by an index or a mask."""
        return TrueBoards(*(getattr(self, field.name)[keep] for field in fields(self)))


def dry(boards: TrueBoards, weather: Weather, group: int, until: float) -> np.ndarray:
    """Mean moisture of the boards at the end of each day, [K, days + 1], start first; weather is of each `group` of
    boards (a stack). A stack is followed until its mean is below `until`, then it stays as it is."""
    days = weather.wind.shape[1]
    means = np.empty((days + 1, len(boards.initial)))
    means[0] = boards.initial
    profile = np.repeat(boards.initial[None], len(WIDTHS), 0)
    air = np.stack([weather.temperature_c, weather.humidity_pct, weather.wind, weather.rain.astype(float)])
    going, here = np.arange(len(boards.initial)), boards
    for day in range(days):
        if day % LOOK_DAYS == 0:
            wet = np.repeat(means[day, going].reshape(-1, group).mean(1) > until, group)
            profile, going, here = profile[:, wet], going[wet], here.some(wet)
        means[day + 1] = means[day]
        if len(going):
            profile = _day(profile, here, air[:, going[::group] // group, day].repeat(group, 1))
            means[day + 1, going] = WIDTHS @ profile
    return means.T


def _day(profile: np.ndarray, boards: TrueBoards, air: np.ndarray) -> np.ndarray:
    temperature, humidity, wind, rain = air
    slow = np.exp(-boards.activation_k * (1 / (temperature + 273.15) - 1 / 293.15))
    inside = boards.inside_m2_s * slow * np.where(temperature < 0, boards.frost, 1.0)
    emission = boards.emission_m_s * saturation_pressure_pa(temperature) / saturation_pressure_pa(20.0) * np.sqrt(wind)
    equilibrium = equilibrium_moisture_pct(temperature, humidity, clamped=True) / 100
    wetted = (boards.uncovered * rain) > 0
    for part in range(STEPS_PER_DAY):
        soaked = wetted & (part == 0)
        at_face = np.where(soaked, RAINED_ON, equilibrium)
        profile = _step(profile, boards, inside, np.where(soaked, 3 * emission, emission), at_face)
    return profile


def _step(
    profile: np.ndarray, boards: TrueBoards, inside: np.ndarray, emission: np.ndarray, equilibrium: np.ndarray
) -> np.ndarray:
    wet = np.clip((profile - SATURATION) / 0.08, 0, 1)
    d = inside * np.exp(boards.slope * (np.minimum(profile, SATURATION) - 0.12)) * (1 + (boards.free - 1) * wet)
    apart = (WIDTHS[1:] + WIDTHS[:-1])[:, None] / 2 * boards.half_m**2
    link = 2 * d[1:] * d[:-1] / (d[1:] + d[:-1]) * SECONDS / apart
    most = np.where(boards.capped > 0, (FACE_SATURATION - equilibrium) / np.maximum(profile[-1] - equilibrium, 0.01), 1)
    emission = emission * np.clip(most, 0.05, 1)
    resistance = 1 / emission + WIDTHS[-1] * boards.half_m / 2 / d[-1]
    return _implicit(profile, link, SECONDS / (resistance * boards.half_m), equilibrium)


def _implicit(profile: np.ndarray, link: np.ndarray, at_face: np.ndarray, equilibrium: np.ndarray) -> np.ndarray:
    """Backward Euler: a tridiagonal system, cell 0 the core."""
    cells = len(profile)
    above, right = np.zeros_like(profile), np.zeros_like(profile)
    pivot = WIDTHS[0] + link[0]
    above[0], right[0] = link[0] / pivot, WIDTHS[0] * profile[0] / pivot
    for i in range(1, cells):
        last = i == cells - 1
        outward = at_face if last else link[i]
        pivot = WIDTHS[i] + link[i - 1] * (1 - above[i - 1]) + outward
        above[i] = outward / pivot
        source = equilibrium * at_face if last else 0.0
        right[i] = (WIDTHS[i] * profile[i] + link[i - 1] * right[i - 1] + source) / pivot
    result = right
    for i in range(cells - 2, -1, -1):
        result[i] += above[i] * result[i + 1]
    return result
