"""A schedule that an operator wrote: the air of a step by any one of its figures, and how it compares with another.

A step's own depression is one at 101.325 kPa, as the published schedules' are: it stands for the EMC, which the wood
feels. Higher up the same EMC shows another wet bulb; `step_air` and `step_of` reckon at the kiln's own pressure.
Figures out of range raise ValueError naming quantity, value and range.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying import air, wood
from drying.ranges import within
from drying.schedules import Schedule, Step, schedule

# What a thermometer and a wick are read to: differences below are none. Common practice, no source.
WARMER_K, DRIER_PCT = 1.0, 0.5
_CODE = re.compile(r"T ?(\d{1,2})[\s–-]*([A-F])[\s–-]*([1-8])")


@dataclass(frozen=True, slots=True)
class StepAir:
    """The air of a step: dry and wet bulb °C, relative humidity %, and the EMC % that wood comes to in it."""

    dry_bulb_c: float
    wet_bulb_c: float
    humidity_pct: float
    emc_pct: float


@dataclass(frozen=True, slots=True)
class Harder:
    """Where a schedule is harder than another: from which moisture down (%; None: from the start), by how many K its
    air is warmer and by how many points of EMC drier, 0 where it is not."""

    from_moisture_pct: float | None
    warmer_k: float
    drier_pct: float


def written_code(text: str) -> str:
    """The published schedule's code that a person wrote, as AH-188 spells it: "t4 d2" and "T4D2" are T4-D2.

    A text, no unit. ValueError naming what was written and the range of codes where it is none of them.
    """
    found = _CODE.fullmatch(text.strip().upper())
    code = f"T{int(found[1])}-{found[2]}{found[3]}" if found else text.strip().lower()
    try:
        return schedule(code).code
    except KeyError:
        raise ValueError(f"kiln schedule {text!r} is outside T1 to T14, A to F, 1 to 8, as in T4-D2") from None


def step_air(
    dry_bulb_c: float,
    *,
    wet_bulb_c: float | None = None,
    humidity_pct: float | None = None,
    emc_pct: float | None = None,
    pressure_pa: float = air.STANDARD_PRESSURE_PA,
) -> StepAir:
    """The air at this dry bulb (10..110 °C) with one more of its figures (ASHRAE psychrometrics, EMC by WH eq. 4-5), at
    an air pressure in Pa.

    Wet bulb at most the dry bulb and no more than 70 K below it, humidity 1..100 %, or EMC from 0.5 % to that of
    saturated air. ValueError outside, and for none or several of them.
    """
    dry = float(within("dry bulb", dry_bulb_c, 10, 110, "°C"))
    given = sum(one is not None for one in (wet_bulb_c, humidity_pct, emc_pct))
    if given != 1:
        raise ValueError(f"{given} of wet bulb, humidity and EMC given; the air of a step takes one of them")
    if emc_pct is not None:
        most = float(wood.equilibrium_moisture_pct(dry, 100))
        humidity = float(wood.humidity_for_moisture_pct(dry, within("EMC", emc_pct, 0.5, most, "%")))
    elif humidity_pct is not None:
        humidity = float(within("humidity", humidity_pct, 1, 100, "%"))
    elif wet_bulb_c is not None:
        wet = within("wet bulb", wet_bulb_c, max(dry - 70, 0), dry, "°C")
        humidity = float(air.relative_humidity_pct(dry, wet, pressure_pa))
    within("humidity", humidity, 1, 100, "%")
    wet_bulb = wet_bulb_c if wet_bulb_c is not None else float(air.wet_bulb_c(dry, humidity, pressure_pa))
    return StepAir(dry, float(wet_bulb), humidity, float(wood.equilibrium_moisture_pct(dry, humidity)))


def step_of(
    from_moisture_pct: float | None,
    dry_bulb_c: float,
    wet_bulb_c: float,
    pressure_pa: float = air.STANDARD_PRESSURE_PA,
) -> Step:
    """The step whose air shows these two bulbs, °C, at an air pressure, Pa (ASHRAE psychrometrics); from a moisture, %
    (None: from green).

    Ranges as in `step_air` and `Step`; ValueError outside.
    """
    if pressure_pa == air.STANDARD_PRESSURE_PA:
        return Step(from_moisture_pct, dry_bulb_c, dry_bulb_c - wet_bulb_c)
    found = step_air(dry_bulb_c, wet_bulb_c=wet_bulb_c, pressure_pa=pressure_pa)
    return Step(from_moisture_pct, dry_bulb_c, dry_bulb_c - float(air.wet_bulb_c(dry_bulb_c, found.humidity_pct)))


def in_order(steps: Sequence[Step]) -> Sequence[int]:
    """Indices of the steps that begin at no lower moisture, %, than the one before; the first begins at None.

    A schedule goes down by definition; steps out of range are refused with ValueError when they are made.
    """
    starts = [np.inf if step.from_moisture_pct is None else step.from_moisture_pct for step in steps]
    return [index for index in range(1, len(starts)) if starts[index] >= starts[index - 1]]


def harder_than(own: Schedule, other: Schedule) -> tuple[Harder, ...]:
    """Where `own` asks for air warmer than `other` by WARMER_K or more, or of an EMC lower by DRIER_PCT or more.

    One entry a stretch of moisture in which both call for the same two airs, from green down. The bounds are common
    practice, no source; ValueError for steps out of range comes when they are made.
    """
    starts = {step.from_moisture_pct for one in (own, other) for step in one.steps} - {None}
    found = []
    for start in [None, *sorted((one for one in starts if one is not None), reverse=True)]:
        at = wood.WETTEST_PCT if start is None else start
        mine, book = (one.steps[int(one.step_index(at))] for one in (own, other))
        warmer = mine.dry_bulb_c - book.dry_bulb_c
        drier = book.equilibrium_moisture_pct - mine.equilibrium_moisture_pct
        if warmer >= WARMER_K or drier >= DRIER_PCT:
            found.append(Harder(start, max(warmer, 0.0), max(drier, 0.0)))
    return tuple(found)
