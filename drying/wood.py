"""Wood and the water in it.

Moisture content is % of oven-dry mass, sizes are mm, densities basic (oven-dry mass over green volume, kg/m3).
Every function takes numbers or arrays that broadcast; input out of range raises ValueError naming quantity, value
and range.
WH = Wood Handbook, FPL-GTR-282 (2021), chapter 4, and the same in FPL-GTR-190 (2010).
"""

from typing import Literal, get_args

import numpy as np
import scipy
from numpy.typing import ArrayLike

from drying.ranges import FloatArray, bisect, first, within

Grain = Literal["flat", "quarter", "mixed"]
Dimension = Literal["thickness", "width"]
GRAINS, DIMENSIONS = get_args(Grain), get_args(Dimension)

SHRINKAGE_START_PCT = 30.0  # WH p. 4-2: about 30 %, the handbook's figure for all shrinkage reckoning
WETTEST_PCT = 400.0  # light woods full of water stay below it
LOWEST_C, HIGHEST_C = -20.0, 100.0
DRIEST_CLAMP_PCT, DAMPEST_CLAMP_PCT = 3.0, 97.0

SORPTION_FALL = 14.0
SORPTION_J_KG = (
    5040 * 4.184 / 0.0180153 / SORPTION_FALL
)  # cal/mol of water to J/kg, summed up from far above saturation


def _moisture(values: ArrayLike, name: str = "moisture content") -> FloatArray:
    return within(name, values, 0, WETTEST_PCT, "%")


def _sorption(temperature_c: FloatArray, humidity_pct: FloatArray) -> FloatArray:
    """WH eq. (4-5), metric form, without guards."""
    t, h = temperature_c, humidity_pct / 100
    w = 349 + 1.29 * t + 0.0135 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = (0.805 + 0.000736 * t - 0.00000273 * t**2) * h
    hydrates = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (kh / (1 - kh) + hydrates)


def equilibrium_moisture_pct(
    temperature_c: ArrayLike, relative_humidity_pct: ArrayLike, *, clamped: bool = False
) -> FloatArray:
    """Moisture content, %, that wood comes to in steady air (WH eq. 4-5, two-hydrate Hailwood-Horrobin).

    -20..100 °C, 0..100 %. The cells of table 4-2 checked reach -1.1..98.9 °C and 5..95 %, within 0.06 points; colder or
    damper than that no table checks the equation. It stands midway between wetting and drying: drying wood sits higher.
    With `clamped=True` the air is first brought inside -20..100 °C and 3..97 % instead of being refused (daily
    weather, hot loops); NaN is refused either way.
    """
    if clamped:
        for quantity, values, unit in (
            ("temperature", temperature_c, "°C"),
            ("relative humidity", relative_humidity_pct, "%"),
        ):
            within(quantity, values, -300, 300, unit)
        temperature = np.clip(np.asarray(temperature_c, dtype=np.float64), LOWEST_C, HIGHEST_C)
        humidity = np.clip(np.asarray(relative_humidity_pct, dtype=np.float64), DRIEST_CLAMP_PCT, DAMPEST_CLAMP_PCT)
        return _sorption(temperature, humidity)
    temperature = within("temperature", temperature_c, LOWEST_C, HIGHEST_C, "°C")
    return _sorption(temperature, within("relative humidity", relative_humidity_pct, 0, 100, "%"))


def humidity_for_moisture_pct(temperature_c: ArrayLike, moisture_pct: ArrayLike) -> FloatArray:
    """Relative humidity, %, that holds wood at this moisture content: WH eq. (4-5) inverted by bisection to 1e-9.

    -20..100 °C. Raises ValueError for a moisture content that no air of that temperature can hold (above saturation).
    """
    temperature = within("temperature", temperature_c, LOWEST_C, HIGHEST_C, "°C")
    moisture, most = _moisture(moisture_pct), _sorption(temperature, np.asarray(100.0))
    if np.any(above := moisture > most):
        wettest, limit = first(above, moisture, most)
        raise ValueError(f"moisture content {wettest:g} % is outside 0 to {limit:.1f} %, what damp air can hold")
    return bisect(lambda humidity: _sorption(temperature, humidity), 0.0, 100.0, moisture)


def fibre_saturation_pct(temperature_c: ArrayLike) -> FloatArray:
    """Fibre saturation, %: about 30 at 20 °C (WH p. 4-2), falling 0.1 point per °C (Stamm, Siau; slope from memory).

    0..100 °C. The sorption equation's own end, `equilibrium_moisture_pct(t, 100)`, is 28.8 % at 20 °C.
    """
    return 30 - 0.1 * (within("temperature", temperature_c, 0, 100, "°C") - 20)


def _left_share(total_shrinkage_pct: ArrayLike, moisture_pct: ArrayLike, start_pct: ArrayLike) -> FloatArray:
    """Share of the green size left at this moisture content (WH eq. 4-7)."""
    total = within("total shrinkage", total_shrinkage_pct, 0, 30, "%")
    start = within("moisture content where shrinkage starts", start_pct, 20, 40, "%")
    return 1 - total / 100 * np.clip(start - _moisture(moisture_pct), 0, None) / start


def shrunk_mm(
    green_mm: ArrayLike,
    total_shrinkage_pct: ArrayLike,
    moisture_pct: ArrayLike,
    *,
    start_pct: ArrayLike = SHRINKAGE_START_PCT,
) -> FloatArray:
    """Size, mm, of what was `green_mm` green, dried to this moisture content: S_M = S0 (30 - M)/30 (WH eq. 4-7).

    `total_shrinkage_pct` is green to oven-dry (0..30), radial, tangential or between; no change above `start_pct`, the
    moisture content where shrinkage starts (20..40).
    """
    return within("green size", green_mm, 0, 100_000, "mm") * _left_share(total_shrinkage_pct, moisture_pct, start_pct)


def change_coefficient(total_shrinkage_pct: ArrayLike) -> FloatArray:
    """Change of size per point of MC, as a share of the size at 10 %: C = (S/3000)/(1 - 20 S/3000), S total shrinkage.

    The relation gives back the coefficients printed in WH table 13-5 (checked in the tests).
    """
    slope = within("total shrinkage", total_shrinkage_pct, 0, 30, "%") / 100 / SHRINKAGE_START_PCT
    return slope / (1 - 20 * slope)


def moved_mm(size_mm: ArrayLike, coefficient: ArrayLike, from_pct: ArrayLike, to_pct: ArrayLike) -> FloatArray:
    """How much wider, mm (below 0: narrower), dried wood gets from one moisture content to another (WH ch. 13).

    D C (M1 - M0); `coefficient` C is the share per point of MC, 0..0.01; both moisture contents 5..20 % (WH
    vouches for 6 to 14).
    """
    share = within("dimensional change coefficient", coefficient, 0, 0.01, "per %")
    before = within("moisture content before", from_pct, 5, 20, "%")
    change = within("moisture content after", to_pct, 5, 20, "%") - before
    return within("size", size_mm, 0, 100_000, "mm") * share * change


def grain_shrinkage_pct(
    radial_pct: ArrayLike, tangential_pct: ArrayLike, grain: Grain = "mixed", dimension: Dimension = "thickness"
) -> FloatArray:
    """Total shrinkage, % green to oven-dry, of a board's thickness or width by how it was sawn.

    Flat-sawn boards shrink radially in thickness and tangentially in width, quarter-sawn ones the other way about (WH
    ch. 4); "mixed" takes their mean for either, as the handbook advises where the rings' run is not known (ch. 13,
    recalled). Both figures 0..30 %; ValueError for another grain or dimension.
    """
    if grain not in GRAINS or dimension not in DIMENSIONS:
        raise ValueError(
            f"grain {grain!r} of {dimension!r} is not one of {', '.join(GRAINS)} of {', '.join(DIMENSIONS)}"
        )
    radial = within("radial shrinkage", radial_pct, 0, 30, "%")
    tangential = within("tangential shrinkage", tangential_pct, 0, 30, "%")
    if grain == "mixed":
        return (radial + tangential) / 2
    along_rays = (grain == "flat") == (dimension == "thickness")
    return radial + 0 * tangential if along_rays else tangential + 0 * radial


def sawing_size_mm(
    finished_mm: ArrayLike,
    total_shrinkage_pct: ArrayLike,
    moisture_pct: ArrayLike,
    planing_each_side_mm: ArrayLike = 0.0,
    saw_deviation_mm: ArrayLike = 0.0,
    *,
    start_pct: ArrayLike = SHRINKAGE_START_PCT,
) -> FloatArray:
    """Green sawing size, mm, for a finished size at this moisture content; `finished_size_mm` is its inverse.

    (finished + 2 planing) / (1 - S_M/100) + saw deviation: it is planed dry, so the allowance shrinks too; the saw
    strays in green wood, by as much as the thinnest piece may fall short. The sum is common practice, no source; the
    shrinkage is WH eq. (4-7). Finished 0..100000, planing and deviation 0..100 mm; shrinkage 0..30 %, MC 0..400 %.
    """
    finished = within("finished size", finished_mm, 0, 100_000, "mm")
    planing, deviation = _allowances(planing_each_side_mm, saw_deviation_mm)
    return (finished + 2 * planing) / _left_share(total_shrinkage_pct, moisture_pct, start_pct) + deviation


def finished_size_mm(
    sawn_mm: ArrayLike,
    total_shrinkage_pct: ArrayLike,
    moisture_pct: ArrayLike,
    planing_each_side_mm: ArrayLike = 0.0,
    saw_deviation_mm: ArrayLike = 0.0,
    *,
    start_pct: ArrayLike = SHRINKAGE_START_PCT,
) -> FloatArray:
    """Finished size, mm, that a green sawn size is sure to yield at this moisture content: `sawing_size_mm` inverted.

    (sawn - saw deviation) x (1 - S_M/100) - 2 planing. Ranges as there; ValueError where nothing would be left.
    """
    sawn = within("sawn size", sawn_mm, 0, 110_000 / 0.7, "mm")
    planing, deviation = _allowances(planing_each_side_mm, saw_deviation_mm)
    left = (sawn - deviation) * _left_share(total_shrinkage_pct, moisture_pct, start_pct) - 2 * planing
    if np.any(none := left < -1e-9):
        size, rest = first(none, sawn, left)
        raise ValueError(f"sawn size {size:g} mm is {-rest:.1f} mm too small for its shrinkage, planing and deviation")
    return np.maximum(left, 0)


def _allowances(planing_each_side_mm: ArrayLike, saw_deviation_mm: ArrayLike) -> tuple[FloatArray, FloatArray]:
    planing = within("planing allowance each side", planing_each_side_mm, 0, 100, "mm")
    return planing, within("saw deviation", saw_deviation_mm, 0, 100, "mm")


def saw_deviation_mm(
    between_boards_sd_mm: ArrayLike, within_boards_sd_mm: ArrayLike, undersize_pct: ArrayLike = 5.0
) -> FloatArray:
    """Allowance, mm, for a saw that strays, so that no more than `undersize_pct` (0.1..50 %) of sizes fall short.

    z x sqrt(sd_b^2 + sd_w^2), z the normal quantile: between and within boards, standard deviations of 0..10 mm of
    measured green sizes (sawing variation as lumber size control has it: recalled, common practice).
    """
    between = within("deviation between boards", between_boards_sd_mm, 0, 10, "mm")
    inside = within("deviation within boards", within_boards_sd_mm, 0, 10, "mm")
    short = within("share of undersize", undersize_pct, 0.1, 50, "%")
    return scipy.special.ndtri(1 - short / 100) * np.hypot(between, inside)


def mass_kg(volume_green_m3: ArrayLike, basic_density_kg_m3: ArrayLike, moisture_pct: ArrayLike) -> FloatArray:
    """Mass, kg, of wood and water: green volume x basic density x (1 + M/100), at any moisture content (0..400 %).

    Basic density is 50..1300 kg/m3; the volume is the green one even when the wood has shrunk (by definition).
    """
    return _dry_mass(volume_green_m3, basic_density_kg_m3) * (1 + _moisture(moisture_pct) / 100)


def water_kg(
    volume_green_m3: ArrayLike, basic_density_kg_m3: ArrayLike, from_pct: ArrayLike, to_pct: ArrayLike
) -> FloatArray:
    """Water, kg, that leaves between two moisture contents; negative where the wood takes water up."""
    change = _moisture(from_pct, "moisture content before") - _moisture(to_pct, "moisture content after")
    return _dry_mass(volume_green_m3, basic_density_kg_m3) * change / 100


def density_kg_m3(
    basic_density_kg_m3: ArrayLike, volumetric_shrinkage_pct: ArrayLike, moisture_pct: ArrayLike
) -> FloatArray:
    """Density, kg/m3, of moist wood, mass and volume at that moisture content (WH eq. 4-7, 4-9)."""
    left = _left_share(volumetric_shrinkage_pct, moisture_pct, SHRINKAGE_START_PCT)
    return _dry_mass(1.0, basic_density_kg_m3) * (1 + _moisture(moisture_pct) / 100) / left


def _dry_mass(volume_green_m3: ArrayLike, basic_density_kg_m3: ArrayLike) -> FloatArray:
    volume = within("volume", volume_green_m3, 0, 1e6, "m³")
    return volume * within("basic density", basic_density_kg_m3, 50, 1300, "kg/m³")


def dried_m3(volume_green_m3: ArrayLike, volumetric_shrinkage_pct: ArrayLike, moisture_pct: ArrayLike) -> FloatArray:
    """Volume, m3, after shrinking from a green one to a moisture content, % (WH eq. 4-7); shrinkage 0..30 %."""
    volume = within("volume", volume_green_m3, 0, 1e6, "m³")
    return volume * _left_share(volumetric_shrinkage_pct, moisture_pct, SHRINKAGE_START_PCT)


def heat_capacity_j_kg_k(temperature_c: ArrayLike, moisture_pct: ArrayLike) -> FloatArray:
    """Heat capacity, J/(kg K), per kg of moist wood (WH eq. 4-16a, 4-17, 4-18), 7..147 °C.

    Above 30 % the water beyond it is added by the rule of mixtures, without the bound-water term (WH, from memory).
    """
    kelvin = within("temperature", temperature_c, 7, 147, "°C") + 273.15
    moisture = _moisture(moisture_pct)
    bound = np.minimum(moisture, SHRINKAGE_START_PCT)
    dry = 0.1031 + 0.003867 * kelvin
    extra = bound * (-0.06191 + 2.36e-4 * kelvin - 1.33e-4 * bound)
    below = (dry + 4.18 * bound / 100) / (1 + bound / 100) + extra
    mixed = (below * (1 + bound / 100) + 4.18 * (moisture - bound) / 100) / (1 + moisture / 100)
    return 1e3 * mixed


def sorption_heat_j_kg(moisture_pct: ArrayLike) -> FloatArray:
    """Heat that wet wood takes beyond the water's evaporation to come down to this moisture, J per kg of oven-dry wood.

    From the differential heat of sorption 5040 exp(-14 w) cal per mol of water, w the moisture as a fraction (Nelson's
    model of fuel moisture). It hangs on the moisture alone: what drying takes, wetting gives back. 0..400 %.
    """
    return np.asarray(SORPTION_J_KG * np.exp(-SORPTION_FALL * _moisture(moisture_pct) / 100))
