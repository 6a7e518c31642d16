"""A device in the demo's kiln that is running: air, the power meter, and two pins in the wood. All of it invented.

Hourly means, as older readings are kept: the air of the schedule's step at the forecast's moisture, with noise.
"""

from datetime import datetime, timedelta
from typing import Any

import numpy as np

from kilnruns.models import Charge, Quantity, SensorDevice, SensorMean, SensorSeries
from yard import outlook

SILENT_AFTER_DAYS = 20  # so that the demo still speaks of its run weeks after it was built
WARM_UP_HOURS = 16
COLD_C = 14.0


def listen(charge: Charge, until: datetime) -> None:
    """Everything since the run's start."""
    began = charge.started_at
    assert began is not None  # started before
    device = SensorDevice.objects.create(
        kiln=charge.kiln,
        name="Beside the door",
        key="demo00000001",
        silent_after_minutes=SILENT_AFTER_DAYS * 24 * 60,
        heard_at=until,
    )
    hours = np.arange(int((until - began) / timedelta(hours=1)))
    told = _told(charge, hours, np.random.default_rng(23))
    for (quantity, probe), values in told.items():
        _keep(device, quantity, probe, began, values)


def _told(charge: Charge, hours: Any, dice: Any) -> dict[tuple[str, str], Any]:
    run, steps = charge.course["run"], charge.course["steps"]
    curve = run["curve"]
    moisture = np.interp(hours / 24, curve["days"], curve["mean_pct"])
    step = [steps[max(sum(s["from_pct"] is None or pct <= s["from_pct"] for s in steps) - 1, 0)] for pct in moisture]
    warm = np.minimum(1, (hours + 1) / WARM_UP_HOURS)
    dry = COLD_C + warm * (np.array([s["dry_bulb_c"] for s in step]) - COLD_C) + dice.normal(0, 0.4, len(hours))
    humidity = np.clip([s["humidity_pct"] for s in step] + dice.normal(0, 1.5, len(hours)), 10, 98)
    wood_c = dry - 4.0
    species = charge.stacks.select_related("stack__species").order_by("-volume_m3", "pk")[0].stack.species
    power = (run["heater_kwh"] + run["fan_kwh"]) * hours / 24 / curve["days"][-1]
    return {
        (Quantity.DRY_BULB, ""): dry,
        (Quantity.HUMIDITY, ""): humidity,
        (Quantity.ENERGY, ""): 1180.0 + power,
        (Quantity.WOOD_TEMPERATURE, "1"): wood_c,
        (Quantity.WOOD_RESISTANCE, "1"): _megohm(moisture + 0.8, wood_c, species),
        (Quantity.WOOD_RESISTANCE, "2"): _megohm(moisture - 0.6, wood_c, species),
    }


def _megohm(moisture_pct: Any, wood_c: Any, species: Any) -> Any:
    """The resistance that is read as this moisture; where none is (too wet), that of the wettest that can be read."""
    tried = np.logspace(-2.5, 5, 400)
    found = []
    for wanted, warmth in zip(moisture_pct, wood_c, strict=True):
        read = outlook.probe_moisture_pct(list(tried), [warmth] * len(tried), species)
        known = [(pct, megohm) for pct, megohm in zip(read, tried, strict=True) if pct is not None]
        found.append(float(np.interp(-wanted, [-pct for pct, _m in known], [megohm for _p, megohm in known])))
    return found


def _keep(device: SensorDevice, quantity: str, probe: str, began: datetime, values: Any) -> None:
    first = int(began.timestamp())
    series = SensorSeries.objects.create(
        device=device,
        quantity=quantity,
        probe=probe,
        last_second=first + 3600 * (len(values) - 1),
        last_value=float(values[-1]),
    )
    SensorMean.objects.bulk_create(
        SensorMean(
            series=series, minutes=60, second=first + 3600 * n, count=60, mean=float(one), low=float(one),
            high=float(one),
        )
        for n, one in enumerate(values)
    )  # fmt: skip
