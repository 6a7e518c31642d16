"""Runs that have come to their end, for the tests of what follows. What they say is invented."""

from datetime import UTC, datetime, timedelta

from kilnruns.actions import closing as actions
from kilnruns.models import RunRecord
from tests.factories import ReadingFactory
from tests.kilnruns.factories import COURSE, KilnFactory, charge_of, ready_stack

BEGUN = datetime(2025, 7, 1, 9, tzinfo=UTC)
CURVE = {"days": [0, 4, 8], "mean_pct": [20, 14, 8]}
RUN = {"reached": True, "days": 8.0, "heater_kwh": 300, "fan_kwh": 60, "water_kg": 80, "rate_factor": 1.0}
DAYS = 10


def running(kiln=None, *, stacks=1, target_pct=8, course=None):
    """A charge in its kiln since BEGUN, each stack read at 20 % two days before."""
    kiln = kiln or KilnFactory(humidifies=True)
    members = [ready_stack(place=kiln.place) for _number in range(stacks)]
    for stack in members:
        ReadingFactory(stack=stack, taken_at=BEGUN - timedelta(days=2), raw=[20.0] * 4)
    course = COURSE | {"notes": [], "run": RUN | {"curve": CURVE}} if course is None else course
    charge = charge_of(*members, kiln=kiln, started_at=BEGUN, target_pct=target_pct, course=course)
    charge.stacks.update(loaded_at=BEGUN)
    return charge


def item_of(charge):
    item = charge.stacks.select_related("stack__species", "stack__place").first()
    item.charge = charge
    return item


def measure(charge, values, **more):
    """All boards of each stack alike."""
    kept = []
    for item in charge.stacks.select_related("stack__species", "stack__place"):
        item.charge = charge
        at = more.get("at") or BEGUN + timedelta(days=DAYS)
        figures = {name: one for name, one in more.items() if name != "at"}
        kept.append(actions.keep_measurement(
            item=item, method="capacitance", values=values, by=None, at=at, **figures
        ))  # fmt: skip
    return kept


def finished(kiln=None, *, values=(7.6, 8.0, 8.2, 7.9), metered=True, days=DAYS, **more):
    """Unloaded after `days`, its boards measured, the air and the meter noted each day."""
    charge = running(kiln, **more)
    if metered:
        for day in range(days + 1):
            RunRecord.objects.create(
                charge=charge, at=BEGUN + timedelta(days=day), dry_bulb_c=50 if day else 20, humidity_pct=50,
                meter_kwh=1000 + 45 * day, vents_pct=30,
            )  # fmt: skip
    charge.unloaded_at = BEGUN + timedelta(days=days)
    charge.save()
    measure(charge, list(values), at=charge.unloaded_at)
    return charge
