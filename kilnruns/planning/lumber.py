"""Stacks as the planner takes them."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np

from drying import wood as relations
from drying.heat import RunTable
from drying.offers import Lumber
from kilnruns.models import Kiln
from kilnruns.planning.chambers import TURNAROUND_DAYS
from kilnruns.planning.due import Due
from kilnruns.planning.groups import Groups
from yard import outlook
from yard.models import Stack

VALUE_PER_M3 = 400.0  # where the owner gave none; a choice, no source


def group_of(stack: Stack, groups: Groups) -> str:
    """Only equal groups share a charge: drying group and target moisture."""
    return f"{groups.of(stack.species).name}@{stack.target_pct:g}"


def pack_of(stack: Stack) -> tuple[float, float, float] | None:
    """Outer size of the stack as one pack, mm; None where nobody measured it: then no forklift takes it."""
    sizes = (stack.pack_length_mm, stack.pack_width_mm, stack.pack_height_mm)
    return sizes if all(sizes) else None  # type: ignore[return-value]


def lumber(
    stack: Stack,
    kilns: Sequence[Kiln],
    moisture: outlook.Daily,
    tables: Mapping[tuple[str, str], RunTable],
    first_day: date,
    due: Due | None,
    groups: Groups,
    careful: bool = False,
) -> Lumber:
    """One stack with what each day and kiln would make of it. Its lines, species and outlook must be at hand.

    A careful plan counts its runs from the wet side of the forecast (P90), as it waits for the late ready day.
    """
    p50 = np.maximum(moisture.p50_pct, stack.target_pct)
    start = np.maximum(moisture.p90_pct, stack.target_pct) if careful else p50
    days = {str(kiln.pk): _run_days(tables[stack.code, str(kiln.pk)], start) for kiln in kilns}
    volume = stack.volume_m3
    water = relations.water_kg(volume, stack.species.basic_density_kg_m3, start, stack.target_pct)
    ready = stack.outlook
    return Lumber(
        code=stack.code,
        group=group_of(stack, groups),
        thickness_mm=stack.thickness_mm,
        target_pct=stack.target_pct,
        pieces=tuple((line.length_mm, line.width_mm, line.count) for line in stack.lines.all()),
        volume_m3=volume,
        moisture_p50_pct=p50,
        ready_day_p10=_day(ready.ready_p10, first_day),
        ready_day_p50=_day(ready.ready_p50, first_day),
        ready_day_p90=_day(ready.ready_p90, first_day),
        value=volume * (stack.value_per_m3 or VALUE_PER_M3),
        due_day=due.day if due else None,
        late_per_week=due.late_per_week if due else 0.0,
        run_days={code: series for code, series in days.items() if np.isfinite(series).all()},
        water_kg=np.asarray(water),
        pack=pack_of(stack),
        must_wait=bool(stack.set_aside_for),
        basic_density_kg_m3=stack.species.basic_density_kg_m3,
    )


def _run_days(table: RunTable, moisture_pct: np.ndarray) -> np.ndarray:
    """Whole days with unloading and loading; infinite where the kiln can't reach the target."""
    return np.ceil(table.days(moisture_pct)) + TURNAROUND_DAYS


def _day(day: date | None, first_day: date) -> int | None:
    return None if day is None else max((day - first_day).days, 0)
