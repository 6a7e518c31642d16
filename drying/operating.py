"""What a running kiln ought to be set to now, from its schedule, its closing steps and its sample boards.

The published rules: the schedule's step follows the mean of the wettest half of the sample boards (AH-188 ch. 6 and 9,
recalled); equalising begins when the driest has come down to its bound and ends when the wettest has come down to the
target (Wengert, equalizing and conditioning); conditioning ends by the stress test, not by the clock (AH-188 ch. 9,
recalled). Figures out of range raise ValueError naming quantity, value and range.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from drying import air, wood
from drying.ranges import within
from drying.schedules import Finish, Schedule, Step
from drying.wood import WETTEST_PCT

Phase = Literal["warm_up", "drying", "equalising", "conditioning", "cooling"]
ORDER: tuple[Phase, ...] = ("warm_up", "drying", "equalising", "conditioning", "cooling")
# Warmed up when the air has come so near to the first step's dry bulb: common practice, no source.
WARM_WITHIN_K = 2.0
# A kiln opened while it is much warmer than the air outside lets the wood check: common practice, no source.
COOL_WITHIN_K = 20.0
# While it cools boards take up a little water, and balances scatter: only boards this much above the target, % of
# moisture, send the kiln back to drying. Common practice, no source.
BACK_ABOVE_PCT = 1.0
# Losses between two weighings nearer than this are scatter of the balance: common practice, no source.
SHORTEST_BETWEEN_DAYS = 0.25


@dataclass(frozen=True, slots=True)
class Setting:
    """What the kiln should hold: dry and wet bulb °C, humidity % and EMC %; `step` counts from 1, None outside the
    schedule's own steps."""

    phase: Phase
    step: int | None
    dry_bulb_c: float
    wet_bulb_c: float
    humidity_pct: float
    emc_pct: float


@dataclass(frozen=True, slots=True)
class Standing:
    """The sample boards' moisture, %: the mean of the wettest half, by which the steps go, the driest, the wettest."""

    controlling_pct: float
    driest_pct: float
    wettest_pct: float


def standing(samples_pct: Sequence[float]) -> Standing:
    """Of the sample boards' moisture, % (0..400), one at least. With an odd number the middle one is of the wettest
    half (our choice: the gentler)."""
    moisture = np.sort(within("moisture of a sample board", samples_pct, 0, WETTEST_PCT, "%").ravel())[::-1]
    if not moisture.size:
        raise ValueError("no sample board; the steps follow the moisture of one at least")
    half = moisture[: (moisture.size + 1) // 2]
    return Standing(float(half.mean()), float(moisture[-1]), float(moisture[0]))


def phase_due(
    samples: Standing,
    finish: Finish,
    *,
    warm: bool,
    equalising: bool = False,
    conditioning: bool = False,
    conditions: bool,
    conditioned: bool,
    cooling: bool = False,
) -> Phase:
    """The phase that the kiln ought to be in, by its sample boards (%): rules and sources above.

    `warm`: the first step's air has been reached once; `equalising`: it was begun, and stays until the wettest is at
    the target; `conditioning`: it was begun, and its damp air brings boards back above the target, so that only boards
    wetter than that air send the kiln back; `conditions`: whether kiln and charge are to be conditioned; `conditioned`:
    the stress test says so; `cooling`: the kiln is set to it, and boards BACK_ABOVE_PCT above the target do not end it.
    """
    closed = conditioned or cooling
    if conditions and (conditioning or conditioned) and samples.wettest_pct <= finish.condition_pct:
        return "cooling" if closed else "conditioning"
    if samples.wettest_pct <= finish.wettest_pct + (BACK_ABOVE_PCT if cooling else 0.0):
        return "conditioning" if conditions and not closed else "cooling"
    if equalising or samples.driest_pct <= finish.driest_pct:
        return "equalising"
    return "drying" if warm else "warm_up"


def setting(
    phase: Phase,
    schedule: Schedule,
    finish: Finish,
    controlling_pct: float,
    pressure_pa: float = air.STANDARD_PRESSURE_PA,
) -> Setting:
    """The air of a phase: of the step in force at the controlling moisture (0..400 %), of the first one in warm-up; for
    equalising and conditioning the last step's dry bulb with the EMC that `finish` asks for. In cooling the heater is
    off: the last step's air is what it comes from. The wet bulb is what that air shows at a pressure in Pa: wood feels
    the EMC, and higher up the same air has a lower wet bulb."""
    last = schedule.steps[-1]
    if phase in ("equalising", "conditioning"):
        emc = finish.equalise_pct if phase == "equalising" else finish.condition_pct
        humidity = float(wood.humidity_for_moisture_pct(last.dry_bulb_c, emc))
        return Setting(phase, None, last.dry_bulb_c, _wet_bulb_c(last.dry_bulb_c, humidity, pressure_pa), humidity, emc)
    index = {"warm_up": 0, "drying": int(schedule.step_index(controlling_pct))}.get(phase, len(schedule.steps) - 1)
    step = schedule.steps[index]
    return Setting(
        phase,
        None if phase == "cooling" else index + 1,
        step.dry_bulb_c,
        wet_bulb_at(step, pressure_pa),
        step.relative_humidity_pct,
        step.equilibrium_moisture_pct,
    )


def wet_bulb_at(step: Step, pressure_pa: float) -> float:
    """The wet bulb, °C, that a step's air shows at an air pressure, Pa (ASHRAE psychrometrics)."""
    if pressure_pa == air.STANDARD_PRESSURE_PA:
        return step.wet_bulb_c
    return _wet_bulb_c(step.dry_bulb_c, step.relative_humidity_pct, pressure_pa)


def _wet_bulb_c(dry_bulb_c: float, humidity_pct: float, pressure_pa: float) -> float:
    return float(air.wet_bulb_c(dry_bulb_c, humidity_pct, pressure_pa))


def is_warm(dry_bulb_c: float, schedule: Schedule) -> bool:
    """Whether the air (°C, -60..150) has come to the first step's dry bulb, within WARM_WITHIN_K."""
    return bool(within("dry bulb", dry_bulb_c, -60, 150, "°C") >= schedule.steps[0].dry_bulb_c - WARM_WITHIN_K)


def is_cool(dry_bulb_c: float, outside_c: float) -> bool:
    """Whether it may be opened: the air in the kiln within COOL_WITHIN_K of that outside (°C, -60..150)."""
    return bool(
        within("dry bulb", dry_bulb_c, -60, 150, "°C") - within("air outside", outside_c, -60, 60, "°C")
        <= COOL_WITHIN_K
    )


def loss_pct_per_day(days: Sequence[float], moisture_pct: Sequence[float]) -> float | None:
    """Loss between the last weighing and the one before it, at least SHORTEST_BETWEEN_DAYS apart; None with fewer.

    Days ascending, of any origin; moisture 0..400 %. Below zero where the board took up water.
    """
    when = within("day of a weighing", days, -1e6, 1e6, "days")
    moisture = within("moisture", moisture_pct, 0, WETTEST_PCT, "%")
    if when.shape != moisture.shape or when.ndim != 1:
        raise ValueError(f"{when.size} days for {moisture.size} moistures; one day each")
    if np.any(np.diff(when) < 0):
        raise ValueError("the days of the weighings are out of order; they must ascend")
    before = np.flatnonzero(when <= when[-1] - SHORTEST_BETWEEN_DAYS) if when.size else np.array([], dtype=int)
    if not before.size:
        return None
    first = before[-1]
    return float((moisture[first] - moisture[-1]) / (when[-1] - when[first]))


def days_to(moisture_pct: float, wanted_pct: float, loss_per_day_pct: float) -> float | None:
    """Days until a moisture (0..400 %) is reached at the present loss (% a day): 0 when it has been, None when it is
    not drying. A straight line: an under-estimate near the end, where the loss falls."""
    now = float(within("moisture", moisture_pct, 0, WETTEST_PCT, "%"))
    wanted = float(within("wanted moisture", wanted_pct, 0, WETTEST_PCT, "%"))
    loss = float(within("loss", loss_per_day_pct, -100, 200, "% a day"))
    if now <= wanted:
        return 0.0
    return (now - wanted) / loss if loss > 0 else None


def next_start_pct(schedule: Schedule, step: int) -> float | None:
    """Moisture at which the step after `step` (from 1) begins, %; None after the last."""
    within("step", step, 1, len(schedule.steps), "")
    return schedule.steps[step].from_moisture_pct if step < len(schedule.steps) else None


def heater_falls_short(
    dry_bulb_c: float, wanted_c: float, steps_on: int | None, steps: int, *, hours_since_set: float
) -> str | None:
    """Why the air is below what is called for: "too_early" (under 12 h since it was set), "steps_off" (not all of the
    heater is on), "limit" (all of it is on: the heater bears no more), "unknown"; None when the air is within 3 K.

    Steps of the heater 1..20. The bounds 12 h and 3 K: common practice, no source.
    """
    within("steps of the heater", steps, 1, 20, "")
    hours = within("hours since it was set", hours_since_set, 0, 1e5, "h")
    if float(within("dry bulb", dry_bulb_c, -60, 150, "°C")) >= float(within("set point", wanted_c, 0, 150, "°C")) - 3:
        return None
    if hours < 12:
        return "too_early"
    if steps_on is None:
        return "unknown"
    return "steps_off" if within("heater steps on", steps_on, 0, steps, "") < steps else "limit"
