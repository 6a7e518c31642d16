"""The end of the demo's finished charge: records, boards measured, a stress test, degrade, hours. All of it invented.

The run follows the curve forecast for it, at the pace it was unloaded at; kiln air is the schedule's own, and the power
meter shows the model's electricity times `POWER`: this mill's walls lose more than its owner thinks.
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np

from config.demo.stacks import reading_of
from kilnruns.actions import closing
from kilnruns.models import Charge, ChargeStack, Phase, RunRecord
from yard.actions.readings import add_reading
from yard.models import Event, Method, log

POWER = 1.25
METER_BEGAN_KWH = 4210.0
BOARDS = 12
BEFORE_DAYS = 2
SHORT_OF_START = 0.1  # days before unloading that the last record was made


def read_before(charge: Charge, day: date, by: Any) -> None:
    """Each stack read before it goes in, at about the moisture that the run's forecast begins with."""
    dice = np.random.default_rng(11)
    start = _curve(charge)[1][0]
    for item in _items(charge):
        reading = reading_of(item.stack, Method.PINS, start + dice.normal(0, 0.4), day, dice, by)
        reading.save()
        log([item.stack], Event.Kind.READ, at=reading.taken_at, by=by, moisture_pct=round(reading.moisture_pct, 1))


def keep_run(charge: Charge, ended: datetime, by: Any) -> None:
    """A visit a day: the air, the meter, and now and then a reading; the phases of the end."""
    began = charge.started_at
    assert began is not None  # started before
    days = (ended - began) / timedelta(days=1)
    dice = np.random.default_rng(12)
    at_days = [*np.arange(0.25, days - 0.5, 1.0), days - SHORT_OF_START]
    for number, day in enumerate(at_days):
        _visit(charge, began + timedelta(days=float(day)), float(day / days), number, dice, by)


def _visit(charge: Charge, at: datetime, part: float, number: int, dice: Any, by: Any) -> None:
    run = charge.course["run"]
    step, step_number = _step(charge, _moisture(charge, part))
    phase = _phase(part, number)
    power = POWER * (run["heater_kwh"] + run["fan_kwh"])
    record = RunRecord.objects.create(
        charge=charge,
        at=at,
        phase=phase,
        step=step_number if phase == Phase.DRYING else None,
        dry_bulb_c=round(step["dry_bulb_c"] + dice.normal(0, 0.6), 1),
        humidity_pct=round(step["humidity_pct"] + dice.normal(0, 2)),
        vents_pct=0 if part < 0.15 else 30,
        meter_kwh=round(METER_BEGAN_KWH + power * part, 1),
        made_by=by,
    )
    if number % 3 == 1:
        for item in _items(charge):
            values = [round(float(one), 1) for one in _moisture(charge, part) + dice.normal(0, 0.7, 5)]
            record.readings.add(
                add_reading(stack=item.stack, method=Method.CAPACITANCE, raw=values, taken_at=at, by=by)
            )


def close(charge: Charge, ended: datetime, by: Any) -> None:
    """Twelve boards a stack, core and shell of four, a prong section, a few checked ends, the hours of work."""
    dice = np.random.default_rng(13)
    for item in _items(charge):
        item.charge = charge
        means = [round(float(one), 1) for one in charge.target_pct + 0.2 + dice.normal(0, 0.7, BOARDS)]
        pairs = [(round(one + 0.6, 1), round(one - 0.4, 1)) for one in means[:4]]
        closing.keep_measurement(
            item=item,
            method=Method.CAPACITANCE,
            values=means,
            pairs=pairs,
            dried_mm=[round(float(one), 1) for one in item.stack.thickness_mm * 0.972 + dice.normal(0, 0.15, 4)],
            by=by,
            at=ended,
        )
        shares = {"end_checks": 5.0, "surface_checks": 0.0, "warp": 2.0}
        closing.keep_degrade(item=item, shares=shares, by_volume=False, by=by, at=ended)
    first = _items(charge)[0]
    first.charge = charge
    sizes = {"prong_mm": 90.0, "fresh_mm": 24.0, "rested_mm": 21.0}
    closing.keep_stress_test(item=first, kind="prong", sizes=sizes, by=by, at=ended - timedelta(days=1))
    figures = {"labour_hours": 9.0, "hourly_rate": 24.0, "energy_kwh": None}
    closing.keep_costs(charge=charge, figures=figures, by=by)


def _items(charge: Charge) -> Sequence[ChargeStack]:
    return list(charge.stacks.select_related("stack__species", "stack__place"))


def _curve(charge: Charge) -> tuple[list[float], list[float]]:
    curve = charge.course["run"]["curve"]
    return curve["days"], curve["mean_pct"]


def _moisture(charge: Charge, part: float) -> float:
    """The forecast's moisture at a part of the run, 0 to 1."""
    days, moistures = _curve(charge)
    return float(np.interp(part * days[-1], days, moistures))


def _phase(part: float, number: int) -> Phase:
    if number == 0:
        return Phase.WARM_UP
    return Phase.EQUALISING if part >= 0.9 else Phase.DRYING


def _step(charge: Charge, moisture_pct: float) -> tuple[dict[str, Any], int]:
    """The step in force at a moisture, and its number from 1."""
    steps = charge.course["steps"]
    begun = [step for step in steps if step["from_pct"] is None or moisture_pct <= step["from_pct"]]
    return dict(begun[-1]), len(begun)
