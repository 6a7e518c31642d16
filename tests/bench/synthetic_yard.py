"""Stacks that dry by another model than the forecast's, in weather the forecast does not know: a test of its spread.

`true_drying` has the other laws, `true_weather` the weather. Six unequal boards a stack; one stack in eight has a wet
pocket in one board; rates of inside, surface and free water stray independently; the thickness is not quite the tally's
and one tally in twenty is a size off; a tenth of the stacks in the open have lost their cover; shed and store shelter
by factors of their own. All invented. The inside's rate is set so that 27 mm take, in steady air, as long as the
forecast's median wood does: the prior is right in the middle, unless `off` says otherwise. Moisture is a fraction.

The spreads of the forecast were settled on TUNING_SEEDS alone; FINAL_SEEDS are for the table of `bench forecast`.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

import numpy as np

from drying.climate import PRESETS, Exposure
from drying.diffusion import Air, Boards, start, step
from drying.forecast import StackInput, Stay, Wood
from tests.bench.true_drying import TrueBoards, dry
from tests.bench.true_weather import Weather, draw

TUNING_SEEDS, FINAL_SEEDS = (1, 2, 3, 4), (101, 102)
BOARDS, LONGEST_DAYS, TARGET = 6, 1100, 0.20
SPECIES = (  # wood, green moisture
    (Wood(560, 1, 0.41, 0.45), 0.80),
    (Wood(600, 1, 0.32, 0.45), 0.70),
    (Wood(560, 2, 0.41, 0.45), 0.68),
    (Wood(380, 5, 0.35, 0.45, "softwood"), 0.80),
    (Wood(400, 5, 0.38, 0.45), 0.95),
    (Wood(550, 2, 0.27, 0.45), 0.45),
    (Wood(450, 3, 0.35, 0.45, "softwood"), 0.45),
    (Wood(510, 1, 0.35, 0.45), 0.85),
)
CLIMATES = ("temperate_inland", "mild_coast", "cool_upland", "cold_continental", "warm_dry")
THICKNESSES = (19.0, 22.0, 25.0, 27.0, 32.0, 38.0, 50.0, 60.0)
SIZE_OFF_MM = 4.0
SHELTER = {  # chance, factor on the surface and its log spread, shift of the humidity and its spread
    Exposure.OPEN_YARD: (0.6, 1.0, 0.0, 0.0, 0.0),
    Exposure.ROOFED_SHED: (0.3, 0.6, 0.3, 0.0, 1.5),
    Exposure.CLOSED_STORE: (0.1, 0.25, 0.4, -3.0, 3.0),
}
LAWS = tuple((activation, slope, cap) for activation, slope in ((5280.0, 1.145), (4300.0, 5.0)) for cap in (0.0, 1.0))
EMISSION_M_S = 6e-8 / 0.4  # of the face at 20 °C per unit of rate


@dataclass(frozen=True)
class Truth:
    """`stacks` without readings; moisture by day: `mean` [stacks, days], `boards` [stacks, boards, days]."""

    stacks: list[StackInput]
    mean: np.ndarray
    boards: np.ndarray

    def ready_day(self) -> np.ndarray:
        """Days from the start to the target, inf where never."""
        below = self.mean <= TARGET
        return np.where(below.any(1), below.argmax(1), np.inf)


def _usual_days(wood: Wood, green: float) -> float:
    """Days in which the forecast's median 27 mm reach the target in steady air, 15 °C, 70 %."""
    air, boards, steps = Air.of(15.0, 70.0), Boards.of(wood, 27.0), 0
    state = start(boards, np.array(green))
    while state.average > TARGET:
        state, steps = step(state, boards, air, 86400 / 4), steps + 1
    return steps / 4


def _crossed(moisture: np.ndarray) -> float:
    """Days until a falling course by day reaches the target; 999 beyond its end."""
    return float(np.interp(-TARGET, -moisture, np.arange(len(moisture)), right=999.0))


@cache
def scales() -> np.ndarray:
    """[species, laws]: the inside's D at 20 °C, 12 % with which 27 mm take the usual time in that air."""
    guesses, days = np.exp(np.linspace(-25.6, -23.0, 14)), 260
    count = len(guesses)
    air = Weather(*(np.full((count, days), value) for value in (15.0, 70.0, 1.0, 0.0)))
    found = np.empty((len(SPECIES), len(LAWS)))
    for i, (wood, green) in enumerate(SPECIES):
        for j, (activation, slope, cap) in enumerate(LAWS):
            emission = EMISSION_M_S * wood.rate
            parts = (green, 0.0135, guesses, activation, slope, emission, cap, wood.permeability, 1.0, 0.0)
            boards = TrueBoards(*(np.broadcast_to(part, count).astype(float) for part in parts))
            reached = np.log([_crossed(moisture) for moisture in dry(boards, air, 1, TARGET - 0.005)])
            found[i, j] = np.exp(np.interp(-np.log(_usual_days(wood, green)), -reached, np.log(guesses)))
    return found


def _tallied(rng: np.random.Generator, count: int) -> list[StackInput]:
    """What the forecast is told."""
    stacks = []
    chances = [chance for chance, *_ in SHELTER.values()]
    for _ in range(count):
        wood, green = SPECIES[rng.integers(len(SPECIES))]
        begin = date(2022, 1, 1) + timedelta(days=int(rng.integers(365)))
        climate = PRESETS[CLIMATES[rng.integers(len(CLIMATES))]].climate
        stay = Stay(begin, climate, list(SHELTER)[rng.choice(len(SHELTER), p=chances)])
        thickness = float(rng.choice(THICKNESSES))
        stacks.append(StackInput("", wood, thickness, begin, 100 * green, 0.12, (stay,), (), 100 * TARGET))
    return stacks


def _true_boards(rng: np.random.Generator, stacks: list[StackInput], off: float) -> tuple[TrueBoards, np.ndarray]:
    """What they really are, and by how much their air is damper than outside, % [stacks, 1]."""
    count = len(stacks)
    shape, one = (count, BOARDS), (count, 1)

    def stray(log_sd: float, size: tuple[int, int]) -> np.ndarray:
        return np.exp(log_sd * rng.standard_normal(size))

    kinds = [[wood for wood, _ in SPECIES].index(stack.wood) for stack in stacks]
    rate, permeability, tally, green = (
        np.array(values)[:, None]
        for values in zip(
            *((s.wood.rate, s.wood.permeability, s.thickness_mm, s.initial_moisture_pct / 100) for s in stacks),
            strict=True,
        )
    )
    law = rng.integers(len(LAWS), size=count)
    activation, slope, cap = (values[:, None] for values in np.array(LAWS)[law].T)
    _, surface, surface_sd, shift, shift_sd = np.array([SHELTER[s.stays[0].exposure] for s in stacks]).T[:, :, None]
    outdoors = np.array([[s.stays[0].exposure is Exposure.OPEN_YARD] for s in stacks])
    pocket = (rng.random(one) < 0.125) & (np.arange(BOARDS) == rng.integers(BOARDS, size=one))
    size_off = SIZE_OFF_MM * rng.choice([-1, 0, 1], p=[0.025, 0.95, 0.025], size=one)
    parts = (
        green * stray(0.10, one) * stray(0.15, shape) * np.where(pocket, 1.4, 1.0),
        (tally + size_off) * stray(0.03, one) * stray(0.02, shape) / 2000,
        scales()[kinds, law][:, None] * off * stray(0.40, one) * stray(0.25, shape) * np.where(pocket, 0.6, 1.0),
        activation,
        slope,
        EMISSION_M_S * rate * off * stray(0.45, one) * surface * np.exp(surface_sd * rng.standard_normal(one)),
        cap,
        permeability ** stray(0.4, one),
        rng.uniform(0.3, 1.0, one),
        outdoors * (rng.random(one) < 0.10),
    )
    boards = TrueBoards(*(np.broadcast_to(part, shape).ravel().astype(float) for part in parts))
    return boards, shift + shift_sd * rng.standard_normal(one)


def synthetic(count: int, seed: int, off: float = 1.0) -> Truth:
    """`count` stacks and how they really dried; `off` multiplies every true rate (a prior that is wrong)."""
    rng = np.random.default_rng(seed)
    stacks = _tallied(rng, count)
    boards, damper = _true_boards(rng, stacks, off)
    stays = [stack.stays[0] for stack in stacks]
    outside = draw(rng, [stay.climate for stay in stays], [stay.start for stay in stays], LONGEST_DAYS)
    humidity = np.clip(outside.humidity_pct + damper, 15, 98)
    weather = Weather(outside.temperature_c, humidity, outside.wind, outside.rain)
    moisture = dry(boards, weather, BOARDS, TARGET - 0.005).reshape(count, BOARDS, -1)
    return Truth(stacks, moisture.mean(1), moisture)
