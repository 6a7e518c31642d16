"""Corrections of moisture meter readings for wood temperature and species.

Resistance (pin) meters: the chart of James, FPL-GTR-6 (1988), figure 5, and resistance curves where their coefficients
are in hand (James table 1; Forsén & Tarvainen, VTT Publications 420, table 5). A correction that cannot be made is left
out and named by a note code; nothing is guessed. Capacitance meters: no published temperature rule, left as read.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drying.ranges import FloatArray, within
from drying.species import SPECIES
from drying.tables import rows

LOWEST_USABLE_PCT, HIGHEST_USABLE_PCT = 6.0, 30.0  # Wood Handbook ch. 13 (2021) p. 13-3
CHART_TOP_TRUE_PCT = 28.0  # the chart ends there; the digitised cells above it are extrapolated
# Other published temperature rules, points of MC per K: Wood Handbook p. 13-3 (0.5 per 10 °F), and the Nordic rule of
# thumb 1.6 per 10 K (SP Trä PX21326, 2012). They disagree with the chart and each other.
TEMPERATURE_RULES_PER_K = (0.5 / (10 / 1.8), 0.16)
NO_CORRECTION_METHODS = ("oven_dry", "sample_board")


@dataclass(frozen=True)
class Correction:
    """Corrected moisture contents, % (shape of the indicated values), and how they came about.

    `value_pct` = indicated + `temperature_part_pct` + `species_part_pct`. `low_pct` and `high_pct` are the lowest and
    highest value by the published temperature rules, which disagree; `spread` is the distance between them.
    Note codes (each holds for at least one value): above_usable_range (above about 30 %: only "wet"),
    below_usable_range, outside_temperature_chart (nearest edge of the chart taken), frozen_wood (below 0 °C and wet:
    unreliable), no_temperature_rule, species_not_given, meter_scale_not_given, no_species_curve, no_meter_scale_curve,
    outside_species_curve (all five: not corrected for it).
    """

    value_pct: FloatArray
    temperature_part_pct: FloatArray
    species_part_pct: FloatArray
    low_pct: FloatArray
    high_pct: FloatArray
    above_range: NDArray[np.bool_]
    note_codes: tuple[str, ...]

    @property
    def spread(self) -> FloatArray:
        """% MC between the highest and lowest value by the published temperature rules."""
        return self.high_pct - self.low_pct


@dataclass(frozen=True, slots=True)
class Curve:
    """Electrical resistance of a wood against its moisture content, at one temperature and within one range."""

    form: str
    a: float
    b: float
    temperature_c: float
    lowest_pct: float
    highest_pct: float

    def log_megohm(self, moisture_pct: FloatArray) -> FloatArray:
        """log10 of the resistance in MOhm: MC = 10^(A + B log10 kOhm), or log10(log10 MOhm + 1) = a MC + b."""
        if self.form == "double_log":
            return 10 ** (self.a * moisture_pct + self.b) - 1
        return (np.log10(moisture_pct) - self.a) / self.b - 3

    def moisture_pct(self, log_megohm: FloatArray) -> FloatArray:
        """The inverse; NaN where the form has no answer (a double log below 0.1 MOhm)."""
        if self.form == "double_log":
            inner = np.where(log_megohm > -1, log_megohm + 1, np.nan)
            return (np.log10(inner) - self.b) / self.a
        return 10 ** (self.a + self.b * (log_megohm + 3))

    def covers(self, moisture_pct: FloatArray) -> NDArray[np.bool_]:
        return (moisture_pct >= self.lowest_pct) & (moisture_pct <= self.highest_pct)


CURVES: dict[str, Curve] = {
    row["meter_key"]: Curve(
        row["form"],
        *(float(row[n]) for n in ("a", "b", "reference_temperature_c", "lowest_pct", "highest_pct")),
    )
    for row in rows("meter_curves")
}


def _chart() -> dict[float, tuple[FloatArray, FloatArray]]:
    cells: dict[float, list[tuple[float, float]]] = {}
    for row in rows("meter_temperature"):
        cell = float(row["indicated_pct"]), float(row["correction_pct"])
        cells.setdefault(float(row["wood_temperature_c"]), []).append(cell)
    return {t: (np.array(line)[:, 0], np.array(line)[:, 1]) for t, line in sorted(cells.items())}


CHART = _chart()
"""By wood temperature, °C: indicated moisture contents and the points to add to each, %."""
_CHART_C = np.array(list(CHART))


def chart_correction_pct(indicated_pct: ArrayLike, wood_temperature_c: ArrayLike) -> FloatArray:
    """Points of MC to add to a pin reading of a meter true at 21.1 °C: James FPL-GTR-6 figure 5, bilinear.

    Wood at -20..50 °C, readings of 0..150 %, ValueError outside; the chart spans about 6 to 25 % indicated, outside it
    the nearest edge holds, and `corrected_pct` notes "outside_temperature_chart".
    """
    within("indicated moisture content", indicated_pct, -20, 200, "%")
    temperature = within("wood temperature", wood_temperature_c, _CHART_C[0], _CHART_C[-1], "°C")
    indicated, temperature = np.broadcast_arrays(np.asarray(indicated_pct, dtype=np.float64), temperature)
    by_line = np.array([np.interp(indicated, *line) for line in CHART.values()])
    upper = np.clip(np.searchsorted(_CHART_C, temperature), 1, len(_CHART_C) - 1)
    share = (temperature - _CHART_C[upper - 1]) / (_CHART_C[upper] - _CHART_C[upper - 1])
    low = np.take_along_axis(by_line, upper[None] - 1, axis=0)[0]
    high = np.take_along_axis(by_line, upper[None], axis=0)[0]
    return low + share * (high - low)


def _species_part(moisture_pct: FloatArray, scale: Curve, own: Curve) -> FloatArray:
    """Points to add to a reading at 21.1 °C on `scale` for wood with the curve `own`; NaN outside either curve.

    The meter saw a resistance; the scale's curve gives it back, the wood's own curve reads it again. Where a curve was
    measured at another temperature the chart carries the reading there and back (our construction).
    """
    at_scale = moisture_pct + chart_correction_pct(moisture_pct, scale.temperature_c)
    fine = scale.covers(at_scale)
    seen = own.moisture_pct(scale.log_megohm(np.where(fine, at_scale, scale.lowest_pct)))
    fine &= own.covers(seen)
    seen = np.where(fine, seen, own.lowest_pct)
    return np.where(fine, seen - chart_correction_pct(seen, own.temperature_c) - moisture_pct, np.nan)


def _curves_for(species_key: str | None, calibrated_for: str | None) -> tuple[Curve, Curve] | str | None:
    """Scale and own curve; None where the scale is the wood's own; else the note code that says what is missing."""
    if species_key is None:
        return "species_not_given"
    for key in (species_key, calibrated_for):
        if key is not None and key not in SPECIES:
            raise ValueError(f"species {key!r} is not one of the {len(SPECIES)} in drying.species.SPECIES")
    if species_key == calibrated_for:
        return None
    own = CURVES.get(SPECIES[species_key].meter_key or "")
    if own is None:
        return "no_species_curve"
    if calibrated_for is None:
        return "meter_scale_not_given"
    scale = CURVES.get(SPECIES[calibrated_for].meter_key or "")
    return (scale, own) if scale is not None else "no_meter_scale_curve"


def corrected_pct(
    indicated_pct: ArrayLike,
    wood_temperature_c: ArrayLike,
    species_key: str | None = None,
    method: str = "pins",
    calibrated_for: str | None = None,
    calibration_temperature_c: float = 20.0,
) -> Correction:
    """Correct readings (0..150 %) for the wood's temperature (-20..50 °C) and species; see `Correction`.

    `method` is pins, capacitance, oven_dry or sample_board; only pins are corrected. `calibrated_for` is the key of the
    wood that the meter's scale was set to when read, `calibration_temperature_c` the temperature it reads true at.
    Raises ValueError naming quantity, value and range, or an unknown method or species.
    """
    indicated = within("indicated moisture content", indicated_pct, 0, 150, "%")
    if method == "capacitance" or method in NO_CORRECTION_METHODS:
        codes = ("no_temperature_rule",) if method == "capacitance" else ()
        zero, none = np.zeros_like(indicated), np.zeros(indicated.shape, dtype=bool)
        return Correction(indicated, zero, zero, indicated, indicated, none, codes)
    if method != "pins":
        raise ValueError(f"method {method!r} is not one of pins, capacitance, oven_dry, sample_board")
    return _pins(indicated, wood_temperature_c, _curves_for(species_key, calibrated_for), calibration_temperature_c)


def _pins(
    indicated: FloatArray,
    wood_temperature_c: ArrayLike,
    curves: tuple[Curve, Curve] | str | None,
    calibration_temperature_c: float,
) -> Correction:
    here = chart_correction_pct(indicated, wood_temperature_c)
    thermal = here - chart_correction_pct(indicated, calibration_temperature_c)
    indicated, temperature = np.broadcast_arrays(indicated, np.asarray(wood_temperature_c, dtype=np.float64))
    wanted = np.zeros_like(thermal) if not isinstance(curves, tuple) else _species_part(indicated + thermal, *curves)
    species = np.nan_to_num(wanted)
    value = indicated + thermal + species
    rules = np.multiply.outer(TEMPERATURE_RULES_PER_K, calibration_temperature_c - temperature) + indicated + species
    every = np.clip(np.concatenate([rules, value[None]]), 0, None)
    above = (value > HIGHEST_USABLE_PCT) | (indicated > HIGHEST_USABLE_PCT)
    true = indicated + thermal
    codes = {
        "above_usable_range": above,
        "below_usable_range": indicated < LOWEST_USABLE_PCT,
        "outside_temperature_chart": (thermal != 0)
        & ((indicated < 6) | (indicated > 25) | (true > CHART_TOP_TRUE_PCT)),
        "frozen_wood": (temperature < 0) & (true > CHART_TOP_TRUE_PCT),
        "outside_species_curve": np.isnan(wanted),
    }
    notes = tuple(code for code, where in codes.items() if np.any(where))
    notes += (curves,) if isinstance(curves, str) else ()
    return Correction(value, thermal, species, every.min(axis=0), every.max(axis=0), above, notes)
