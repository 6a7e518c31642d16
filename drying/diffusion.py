"""How boards dry: one-dimensional diffusion through half the thickness, many boards ("trajectories") stepped together.

One model for the yard (days) and the kiln (hours). Implicit finite volumes, cells graded to the surface; the surface
loses vapour with evaporative cooling; every rate is multiplied by `rate`, so that it is a clock. Moisture is a FRACTION
of dry mass here, all else SI and °C; arrays of trajectories have any shape X, profiles are [cells, *X], cell 0 is core.
Its parts: Siau 1984 (coefficients, recalled), Chilton-Colburn (surface), our choices where marked. What is built here
is checked (ValueError); `step` then trusts it.

    boards = Boards.of(wood, thickness_mm=27)
    state = start(boards, 0.80)
    for temperature, humidity in hours:
        state = step(state, boards, Air.of(temperature, humidity), 3600.0)
    state.average, state.profile, state.surface
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drying import diffusivity
from drying.air import STANDARD_PRESSURE_PA, latent_heat_j_kg, vapour_concentration_kg_m3
from drying.frost import thawed
from drying.ranges import FloatArray, within
from drying.stepping.sweep import Law, Swept, six_faces
from drying.wood import equilibrium_moisture_pct
from drying.woodkind import Wood

YARD_TRANSFER_M_S = 3e-3  # surface mass transfer in a stack outdoors; weakly determined, 0.5e-3..4e-3 all fit (choice)
KILN_TRANSFER_M_S = 8e-3  # small kiln, heat transfer about 8 W/(m2 K) (choice)
THICK_MM = 50.0  # thicker boards get eight cells instead of six
ICE_PERMEABILITY = 0.1  # free-water factor of frozen wood (choice)
LEAST_DEVIATION = 1e-3  # the surface's secant is taken at least this far from equilibrium


def cell_widths(cells: int, ratio: float) -> FloatArray:
    """Widths of `cells` (2..500) cells as shares (no unit) of the half thickness, core first, each 1/ratio (1..3) of
    the one before; they add up to 1. ValueError outside."""
    within("number of cells", cells, 2, 500, "")
    within("ratio of cells", ratio, 1, 3, "")
    widths = ratio ** -np.arange(cells, dtype=np.float64)
    return widths / widths.sum()


SIX_CELLS = cell_widths(6, 1.35)
EIGHT_CELLS = cell_widths(8, 1.25)


@dataclass(frozen=True, slots=True)
class Boards:
    """Boards of many trajectories; each array broadcasts against X. `widths` are shares of half the thickness."""

    half_thickness_m: FloatArray
    specific_gravity: FloatArray
    permeability: FloatArray
    rate: FloatArray
    transfer_m_s: FloatArray
    widths: FloatArray

    @classmethod
    def of(
        cls,
        wood: Wood,
        thickness_mm: ArrayLike,
        *,
        rate: ArrayLike | None = None,
        transfer_m_s: ArrayLike = YARD_TRANSFER_M_S,
        widths: FloatArray | None = None,
    ) -> "Boards":
        """Boards of one wood, of one or many green thicknesses (5..200 mm; measured against fine grids and a published
        solver from 15 to 100); `rate`, 0.001..50, stands in for the wood's own. Surface transfer 0..10 m/s; ValueError
        outside."""
        thick = within("thickness", thickness_mm, 5, 200, "mm")
        if widths is None:
            widths = EIGHT_CELLS if np.max(thick) > THICK_MM else SIX_CELLS
        return cls(
            half_thickness_m=thick / 2000,
            specific_gravity=np.asarray(wood.basic_density_kg_m3 / 1000),
            permeability=np.asarray(wood.permeability),
            rate=within("rate", wood.rate if rate is None else rate, 1e-3, 50, "times"),
            transfer_m_s=within("surface transfer", transfer_m_s, 0, 10, "m/s"),
            widths=widths,
        )


def evaporative_cooling(temperature_c: FloatArray, humidity: FloatArray, pressure_pa: ArrayLike) -> FloatArray:
    """By how much a wet surface evaporates less than one at air temperature: gamma in J = J_isothermal/(1 + gamma a_w).

    Solves the wet surface's balance, heat in by convection = latent heat out, by six Newton steps; exact for a wet and
    for a dry surface (one slope at air temperature, the usual linearisation, is 6 to 35 % low). Heat and mass transfer
    are tied by the Chilton-Colburn analogy, Le^(2/3) = 0.90. -20..100 °C, humidity 0..1, pressure Pa.
    """
    within("humidity (fraction)", humidity, 0, 1, "")
    within("air pressure", pressure_pa, 40_000, 110_000, "Pa")
    heat = 1006 * 1.204 * np.asarray(pressure_pa) / STANDARD_PRESSURE_PA * (293.15 / (temperature_c + 273.15)) * 0.90
    latent = latent_heat_j_kg(temperature_c)
    in_air = humidity * vapour_concentration_kg_m3(temperature_c, 100.0)
    wet = temperature_c
    for _ in range(6):
        here = vapour_concentration_kg_m3(wet, 100.0)
        slope = (vapour_concentration_kg_m3(wet + 0.01, 100.0) - here) / 0.01
        wet = wet + (heat * (temperature_c - wet) - latent * (here - in_air)) / (heat + latent * slope)
        wet = np.clip(wet, -39.0, temperature_c)
    lost = np.maximum(vapour_concentration_kg_m3(wet, 100.0) - in_air, 1e-12)
    isothermal = vapour_concentration_kg_m3(temperature_c, 100.0) - in_air
    return np.maximum(isothermal / lost - 1, 0.0)


@dataclass(frozen=True, slots=True)
class Air:
    """Air about the boards, one state per element (any shape that broadcasts against X). Build it with `Air.of`."""

    temperature_c: FloatArray
    saturated_kg_m3: FloatArray
    cooling: FloatArray
    equilibrium: FloatArray
    saturation: FloatArray
    pace: FloatArray
    melted: FloatArray
    row: np.ndarray
    activity: FloatArray

    @classmethod
    def of(cls, temperature_c: ArrayLike, relative_humidity_pct: ArrayLike, pressure_pa: float = 101325.0) -> "Air":
        """Air at a pressure of 40000..110000 Pa; weather of -60..-20 °C counts as -20, where wood stands still anyway,
        and humidity is brought inside 3..97 %. ValueError outside -60..100 °C or, a shift of exposure allowed for,
        -10..110 %."""
        within("air pressure", pressure_pa, 40_000, 110_000, "Pa")
        temperature, percent = np.broadcast_arrays(
            np.maximum(
                within("air temperature", temperature_c, -60, diffusivity.HOTTEST_C, "°C"), diffusivity.COLDEST_C
            ),
            np.clip(within("relative humidity", relative_humidity_pct, -10, 110, "%"), 3.0, 97.0),
        )
        equilibrium = equilibrium_moisture_pct(temperature, percent) / 100
        row = diffusivity.activity_row(temperature)
        pace, melted = thawed(temperature)
        return cls(
            temperature_c=temperature,
            saturated_kg_m3=vapour_concentration_kg_m3(temperature, 100.0),
            cooling=evaporative_cooling(temperature, percent / 100, pressure_pa),
            equilibrium=equilibrium,
            saturation=diffusivity.saturation(temperature),
            pace=pace,
            melted=melted,
            row=row,
            activity=diffusivity.tabulated_activity(equilibrium, row),
        )

    def __getitem__(self, key: object) -> "Air":
        """The rows picked out by any numpy index, for a table of days."""
        return Air(*(getattr(self, name)[key] for name in self.__slots__))


@dataclass(frozen=True, slots=True)
class State:
    """Moisture of the boards, fractions: `profile` [cells, *X] from core to face, `surface` [*X], `average` [*X]."""

    profile: FloatArray
    surface: FloatArray
    average: FloatArray


def average(profile: FloatArray, widths: FloatArray) -> FloatArray:
    """Mean moisture (fraction) of a profile [cells, *X] with its cells' shares of the half thickness."""
    return (widths.astype(profile.dtype) @ profile.reshape(len(profile), -1)).reshape(profile.shape[1:])


def start(boards: Boards, moisture: ArrayLike) -> State:
    """Boards of even moisture (fraction, 0..4; ValueError outside: 80 would be %). Its shape is X, into which boards,
    air and seconds must broadcast."""
    level = within("moisture (fraction)", moisture, 0, 4, "")
    return State(np.repeat(level[None], len(boards.widths), 0), level.copy(), level.copy())


def _column(values: FloatArray, like: FloatArray) -> FloatArray:
    """One value a cell, to go with a profile."""
    return values.astype(like.dtype).reshape((-1,) + (1,) * (like.ndim - 1))


class Inside:
    """A step as far as it does not hang on the air's humidity: what goes on between the cells in `seconds`.

    `fit`: the parabola of ln D at this air's temperature, if the caller has it. `at` finishes the step; one of another
    humidity at the same temperature may be asked for again and again.
    """

    def __init__(
        self, state: State, boards: Boards, air: Air, seconds: ArrayLike, fit: FloatArray | None = None
    ) -> None:
        profile, widths, half = state.profile, boards.widths, boards.half_thickness_m
        if fit is None:
            fit = diffusivity.parabola(air.temperature_c, boards.specific_gravity)
        free = (boards.permeability - ICE_PERMEABILITY) * air.melted - (1 - ICE_PERMEABILITY)
        c0, c1, c2 = fit.astype(profile.dtype)
        self.law = Law(c0, c1, c2, air.saturation, free)
        self.state, self.boards = state, boards
        clock = boards.rate * air.pace * np.asarray(seconds, dtype=profile.dtype) / half
        coefficients = self.law.coefficients(profile)
        links = six_faces(coefficients[1:], coefficients[:-1])
        links *= _column(1 / (3 * (widths[1:] + widths[:-1])), links)
        links *= clock / half
        self.swept = Swept.of(profile, links, _column(widths, profile))
        self.clock, self.outer, self.inward = clock, coefficients[-1], 1 / (3 * float(widths[-1]) * half)

    def at(self, air: Air) -> State:
        """The boards after the step, in this air. The surface is found in two passes, as a deviation from equilibrium;
        its flux is taken along the secant, which keeps the equilibrium exact at any length of step."""
        boards, (_, _, pivot, right) = self.boards, self.swept
        ease = boards.transfer_m_s * air.saturated_kg_m3 / (1000 * boards.specific_gravity)
        excess = right - pivot * air.equilibrium
        surface = self.state.surface - air.equilibrium
        for settled in (False, True):
            deviation = np.copysign(np.maximum(np.abs(surface), LEAST_DEVIATION), surface)
            moisture = air.equilibrium + deviation
            secant = _conductance(moisture, deviation, ease, air)
            within = six_faces(self.law.coefficients(moisture), self.outer)
            within *= self.inward
            share = within / (within + secant)
            secant *= share
            secant *= self.clock
            secant += pivot
            left = excess / secant
            share *= left
            surface = share if settled else (surface + share) / 2
        after = self.swept.profile(left + air.equilibrium)
        return State(after, surface + air.equilibrium, average(after, boards.widths))


def _conductance(moisture: FloatArray, deviation: FloatArray, ease: FloatArray, air: Air) -> FloatArray:
    """Secant of the surface flux about equilibrium, m/s per unit of moisture, at a surface moisture."""
    activity = diffusivity.tabulated_activity(moisture, air.row)
    resistance = air.cooling * activity
    resistance += 1
    resistance *= deviation
    activity -= air.activity
    activity *= ease
    activity /= resistance
    return np.maximum(activity, 1e-18)


def step(state: State, boards: Boards, air: Air, seconds: ArrayLike) -> State:
    """The boards after `seconds` (a number or an array that broadcasts against X) in this air: one implicit step.

    Backward Euler with coefficients of the old profile; the surface is found in two passes. Stable at any length and
    keeps the water's balance exactly: the change of the average is what has left through the faces. Long steps dry
    late, by about one step over a whole drying; tests/drying/test_diffusion.py measures it against a fine solution.
    Seconds 0 or more, ValueError else; below 0 °C see `thawed`.
    """
    if not np.all(np.greater_equal(seconds, 0)):
        raise ValueError(f"seconds {np.min(seconds):g} are outside 0 and more")
    if state.profile.ndim == 1:  # a single board; the arithmetic writes into rows of arrays
        alone = step(State(state.profile[:, None], state.surface[None], state.average[None]), boards, air, seconds)
        return State(alone.profile[:, 0], alone.surface[0], alone.average[0])
    return Inside(state, boards, air, seconds).at(air)
