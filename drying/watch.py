"""Watch over drying wood: too fast, too steep a gradient, stain. Codes and figures only; words are made elsewhere.

Levels: "none", "mind" (look), "act" (change something now). The bounds 0.8 and 1.2 on both indices are judgement:
common practice, no source. Figures out of range raise ValueError naming quantity, value and range.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drying import wood
from drying.frost import frozen
from drying.ranges import within
from drying.tables import rows
from drying.wood import WETTEST_PCT

Level = Literal["none", "mind", "act"]
MIND, ACT = 0.8, 1.2
RUN_LEEWAY = 1.3
# Safe loss of 25.4 mm stock without a species' own figure, % MC per day: our choice, the lowest or usual of the group.
GROUP_SAFE_RATE_PCT = {"slow_hardwood": 2.5, "medium_hardwood": 4.5, "light_hardwood": 10.0, "softwood": 15.0}
# EMC of the air that green wood of the group bears, near its first published step: recalled, partly our choice.
GROUP_SAFE_EMC_PCT = {"slow_hardwood": 17.5, "medium_hardwood": 14.0, "light_hardwood": 12.0, "softwood": 10.0}
# Stain: recalled (blue stain, sapwood above about 20 %, about 5 to 35 °C, damp air); humidity bounds for mould read in
# TräGuiden, Mikroorganismer: none below 75 %, possible with time at 75 to 80 %.
STAIN_MOISTURE_PCT, STAIN_COLDEST_C, STAIN_WARMEST_C = 20.0, 5.0, 35.0
STAIN_DAMP_PCT, STAIN_POSSIBLE_PCT = 80.0, 75.0
# Days of stain weather in a row before acting: common practice, no source.
STAIN_DAYS = 3
# Core above surface at the end of a run that asks for conditioning, % MC: common practice, no source.
END_DIFFERENCE_PCT = 3.0


@dataclass(frozen=True, slots=True)
class Watch:
    """What is seen: level, code, the figures behind it (units in their names), and codes of changes that lower it."""

    level: Level
    code: str
    figures: Mapping[str, float] = field(default_factory=dict)
    changes: tuple[str, ...] = ()


def safe_rate_pct_per_day(rate_25mm_pct_per_day: ArrayLike, thickness_mm: ArrayLike) -> NDArray[np.float64]:
    """Safe loss (% MC per day) at a green thickness (mm) from that of 25.4 mm stock: r25 (25.4 / t)^1.3.

    The exponent is a choice: 0.41 at 50.8 mm, where FPL-GTR-118 (recalled) has 0.4. Rates 0.1..100 % a day, 5..200 mm;
    ValueError outside.
    """
    rate = within("safe loss of 25 mm stock", rate_25mm_pct_per_day, 0.1, 100, "% a day")
    return rate * (25.4 / within("thickness", thickness_mm, 5, 200, "mm")) ** 1.3


def published_safe_rate_pct_per_day(species: str) -> tuple[float, bool]:
    """Published safe loss of 25.4 mm stock by the table's species name, and whether it is recalled (FPL-GTR-118).

    KeyError when the table does not list the species.
    """
    for row in rows("kiln_safe_rates"):
        if row["species"] == species and row["thickness_mm"] == "25.4":
            return float(row["loss_pct_per_day"]), row["from_memory"] == "yes"
    raise KeyError(f"no published safe rate for {species!r}")


def drying_too_fast(
    loss_pct_per_day: float,
    safe_25mm_pct_per_day: float,
    thickness_mm: float,
    moisture_pct: float,
    temperature_c: float,
    relative_humidity_pct: float,
    *,
    in_kiln: bool = False,
) -> Watch:
    """Mean loss of a stack (% MC per day) against what its wood bears, with the air that would bring it down to that.

    Counts only above fibre saturation, where checks form. Figures: loss, safe, ratio; where too fast also the humidity
    (loss goes as fibre saturation less EMC) and the temperature (D as exp(-5280 / K), Simpson 1993) that cure it alone.
    Loss -100..200 % a day, moisture 0..400 %, air -60..100 °C and 0..100 %; ValueError outside.
    """
    within("loss", loss_pct_per_day, -100, 200, "% a day")
    _air_and_wood(moisture_pct, temperature_c, relative_humidity_pct)
    safe = float(safe_rate_pct_per_day(safe_25mm_pct_per_day, thickness_mm))
    ratio = loss_pct_per_day / safe
    figures = {"loss_pct_per_day": loss_pct_per_day, "safe_pct_per_day": safe, "ratio": ratio}
    # The sorption equation's own end, so that the air that cures it can always be stated; frost counts as 0 °C.
    saturation = float(wood.equilibrium_moisture_pct(max(temperature_c, 0.0), 100))
    if moisture_pct <= saturation or ratio < MIND:
        return Watch("none", "drying_rate", figures)
    if ratio > 1:
        figures |= _cure(ratio, saturation, max(temperature_c, 0.0), relative_humidity_pct)
    changes = ("raise_humidity", "lower_temperature", "slow_fans") if in_kiln else ("shade", "windbreak", "close_up")
    return Watch(_level(ratio), "drying_too_fast", figures, changes)


def stress_index(
    profile_pct: ArrayLike,
    widths: ArrayLike,
    surface_pct: ArrayLike,
    saturation_pct: ArrayLike,
    safe_emc_pct: ArrayLike,
) -> NDArray[np.float64]:
    """Gradient index: (mean - surface, both capped at fibre saturation) over (fibre saturation - safe EMC), 0 to 2.

    profile [N] or [N, K] from core to surface with relative cell widths [N] (sum 1); the others scalar or [K]. %.
    Moisture 0..400 %, fibre saturation 15..40 %, safe EMC below it. Its form and scale are judgement: common practice,
    no source. ValueError outside.
    """
    profile, surface = (
        within(name, values, 0, WETTEST_PCT, "%")
        for name, values in (("moisture in the profile", profile_pct), ("moisture of the surface", surface_pct))
    )
    cap = within("fibre saturation", saturation_pct, 15, 40, "%")
    safe = within("safe EMC", safe_emc_pct, 1, float(cap.min()) - 1, "%")
    mean = np.tensordot(within("width of a cell", widths, 0, 1, ""), np.minimum(profile, cap), axes=1)
    return (mean - np.minimum(surface, cap)) / (cap - safe)


def stress_watch(index: float, *, in_kiln: bool = False) -> Watch:
    """Level of a stress index (-10..100): 0.8 mind, 1.2 act (common practice, no source); ValueError outside."""
    within("stress index", index, -10, 100, "")
    changes = ("raise_humidity", "slow_fans") if in_kiln else ("shade", "windbreak")
    level = _level(index)
    return Watch(level, "stress", {"index": index}, changes if level != "none" else ())


def case_hardening_watch(worst_index_core_wet: float, core_less_surface_pct: float, target_pct: float) -> Watch:
    """At the end of a run: whether to condition. Worst stress index while the core was above fibre saturation (which
    sets tension in the shell), and what is left of the difference between core and surface, % MC.

    Indices -10..100, difference -100..200 points, target 3..60 %; ValueError outside. Bounds: common practice, no
    source; conditioning EMC AH-188 (recalled)."""
    within("worst stress index", worst_index_core_wet, -10, 100, "")
    within("core less surface", core_less_surface_pct, -100, 200, "%")
    within("target moisture content", target_pct, 3, 60, "%")
    figures = {"worst_index": worst_index_core_wet, "core_less_surface_pct": core_less_surface_pct}
    if worst_index_core_wet <= MIND and core_less_surface_pct <= END_DIFFERENCE_PCT:
        return Watch("none", "case_hardening", figures)
    figures |= {"condition_emc_from_pct": target_pct + 3, "condition_emc_to_pct": target_pct + 4}
    return Watch("act" if worst_index_core_wet > ACT else "mind", "case_hardening", figures, ("condition",))


def run_watches(risk: Mapping[str, float], target_pct: float) -> tuple[Watch, Watch, Watch]:
    """Watches over a computed run (`heat.KilnRun.risk`) to a target, 3..60 %: too fast, stress, case hardening.

    A published schedule must not be called dangerous: the model runs red oak under T4-D2 at 1.3 times its safe rate, so
    a computed rate is judged with that leeway (RUN_LEEWAY). Weighed or metered losses are not: `drying_too_fast`.
    """
    within("worst rate of a run", risk["rate"], -10, 1000, "times the safe one")
    changes = ("raise_humidity", "lower_temperature", "slow_fans")
    rate = _level(risk["rate"] / RUN_LEEWAY)
    fast = Watch(rate, "run_too_fast", {"ratio": risk["rate"]}, changes if rate != "none" else ())
    end = case_hardening_watch(risk["stress_core_wet"], risk["core_less_surface_pct"], target_pct)
    return fast, stress_watch(risk["stress"], in_kiln=True), end


def stain_watch(
    moisture_pct: float,
    temperature_c: ArrayLike,
    relative_humidity_pct: ArrayLike,
    has_sapwood: bool,
    *,
    stickered: bool = True,
) -> Watch:
    """Danger of blue stain and mould now: surface or mean moisture % and the daily air up to today ([days] or one day).

    Between boards lying tight the air is taken as damp whatever the weather. Acts after STAIN_DAYS such days in a row.
    Moisture 0..400 %, air -60..100 °C and 0..100 %; ValueError outside. Bounds recalled or TräGuiden, see above.
    """
    _air_and_wood(moisture_pct, temperature_c, relative_humidity_pct)
    warm = np.atleast_1d(np.asarray(temperature_c, float))
    damp = np.atleast_1d(np.asarray(relative_humidity_pct, float)) if stickered else np.full(warm.shape, 100.0)
    growing = (warm > STAIN_COLDEST_C) & (warm < STAIN_WARMEST_C)
    days = _run_to_end(growing & (damp > STAIN_DAMP_PCT))
    figures = {"moisture_pct": moisture_pct, "damp_days": float(days), "temperature_c": float(warm[-1])}
    if stickered:
        figures["relative_humidity_pct"] = float(damp[-1])
    possible = bool(growing[-1] and damp[-1] >= STAIN_POSSIBLE_PCT)
    if not has_sapwood or moisture_pct <= STAIN_MOISTURE_PCT or not possible:
        return Watch("none", "stain", figures)
    changes = ("more_air", "kiln_first") if stickered else ("sticker", "kiln_first")
    return Watch("act" if days >= STAIN_DAYS else "mind", "stain", figures, changes)


def frost_watch(moisture_pct: float, temperature_c: ArrayLike) -> Watch:
    """Whether the stack stands frozen: ice in the wood (moisture above fibre saturation) and frost (daily means, °C).

    "mind": it hardly dries now, and the forecast reckons so (`drying.frost`); a pin reading of frozen wood tells
    nothing. Figures: the days in a row up to today. Moisture 0..400 %, -60..100 °C [days] or one; ValueError outside.
    """
    days = np.atleast_1d(within("temperature", temperature_c, -60, 100, "°C"))
    within("moisture content", moisture_pct, 0, WETTEST_PCT, "%")
    count = _run_to_end(frozen(days, moisture_pct / 100))
    figures = {"moisture_pct": moisture_pct, "temperature_c": float(days[-1]), "frozen_days": float(count)}
    return Watch("mind" if count else "none", "frozen", figures, ("wait_for_thaw", "kiln_first") if count else ())


def _air_and_wood(moisture_pct: ArrayLike, temperature_c: ArrayLike, humidity_pct: ArrayLike) -> None:
    within("moisture content", moisture_pct, 0, WETTEST_PCT, "%")
    within("temperature", temperature_c, -60, 100, "°C")
    within("relative humidity", humidity_pct, 0, 100, "%")


def _level(index: float) -> Level:
    if index < MIND:
        return "none"
    return "mind" if index <= ACT else "act"


def _run_to_end(days: NDArray[np.bool_]) -> int:
    return int(np.argmin(days[::-1])) if not days.all() else len(days)


def _cure(ratio: float, saturation: float, temperature_c: float, humidity_pct: float) -> dict[str, float]:
    present = float(wood.equilibrium_moisture_pct(temperature_c, humidity_pct))
    needed = saturation - (saturation - present) / ratio
    kelvin = temperature_c + 273.15
    return {
        "needed_emc_pct": needed,
        "needed_humidity_pct": float(wood.humidity_for_moisture_pct(temperature_c, needed)),
        "needed_temperature_c": 1 / (1 / kelvin + np.log(ratio) / 5280) - 273.15,
    }
