"""Which stacks may share a run: one group, thicknesses and moistures near enough, ready, and no slower than the run."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drying.planner.task import Task


@dataclass(frozen=True, slots=True)
class Window:
    """Stacks (numbers, ascending) that may go together from `start` for `days` at most."""

    start: int
    days: int
    stacks: tuple[int, ...]


def windows(task: Task, kiln: int) -> list[Window]:
    """All largest windows of a kiln: others are parts of these."""
    able = np.isfinite(task.need.share[kiln])
    found: list[Window] = []
    for start in range(task.horizon):
        if not task.starts[kiln, start]:
            continue
        here = able & (task.ready <= start) & np.isfinite(task.days[kiln, :, start])
        room = int(task.free_until[kiln, start]) - start
        seen: set[tuple[tuple[int, ...], int]] = set()
        for group in np.unique(task.groups[here]):
            alike = np.flatnonzero(here & (task.groups == group))
            for some in by_thickness(task, alike):
                for few in _by_moisture(task, some, start):
                    for window in _by_days(task, kiln, few, start, room):
                        if (window.stacks, window.days) not in seen:
                            seen.add((window.stacks, window.days))
                            found.append(window)
    return found


def by_thickness(task: Task, stacks: np.ndarray) -> Iterator[np.ndarray]:
    widest: set[tuple[int, ...]] = set()
    for thinnest in np.unique(task.thickness[stacks]):
        thickness = task.thickness[stacks]
        inside = (thickness >= thinnest) & (thickness * task.rules.thinnest_to_thickest <= thinnest + 1e-9)
        some = tuple(stacks[inside])
        if not any(set(some) <= set(other) for other in widest):
            widest.add(some)
            yield stacks[inside]


def _by_moisture(task: Task, stacks: np.ndarray, start: int) -> Iterator[np.ndarray]:
    order = stacks[np.lexsort((stacks, task.moisture[stacks, start]))]
    moisture = task.moisture[order, start]
    last = -1
    for first in range(len(order)):
        end = int(np.searchsorted(moisture, moisture[first] + task.rules.moisture_window_pct + 1e-9, side="right"))
        if end > last:
            last = end
            yield order[first:end]


def _by_days(task: Task, kiln: int, stacks: np.ndarray, start: int, room: int) -> Iterator[Window]:
    stacks = np.sort(stacks)
    days = task.days[kiln, stacks, start]
    for limit in sorted({one for one in days.tolist() if one <= room}):
        inside = tuple(stacks[days <= limit].tolist())
        for longer in with_heater(task, kiln, inside, start, int(limit)):
            if longer <= room:
                yield Window(start, longer, inside)


def with_heater(task: Task, kiln: int, stacks: tuple[int, ...], start: int, days: int) -> list[int]:
    """A weak heater may make a full load last longer: a few lengths up to what a full load of the wettest needs."""
    rate = task.kilns[kiln].heater_kg_water_per_day
    if not rate:
        return [days]
    members = np.array(stacks)
    full = float(np.max(task.water[members, start] / task.need.share[kiln, members]))
    longest = max(days, int(np.ceil(full / rate)))
    return sorted({days, (days + longest) // 2, longest})
