"""Windows of large yards: fewer for the linear program, and wide ones for the bound, which hold every charge there is.

The program sees starts two or three days apart, moisture windows on a grid and two lengths of run in each. The bound
sees every start and every length of run; each of its windows is a little wider than a charge's may be, and is counted
with the shortest run that a charge of it can have: a shorter run brings no less and costs no more, so the bound holds.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from drying.planner.task import Task
from drying.planner.windows import Window, by_thickness, with_heater

GRID = 3.0
"""Percent of moisture between the windows that the program chooses among."""
STEP = 1.0
"""Percent of moisture between wide windows; they are wider than a charge may be by as much."""


def few_windows(task: Task, kiln: int) -> list[Window]:
    """The windows that the linear program chooses among."""
    found: list[Window] = []
    room = task.free_until[kiln]
    for start in _spread(np.flatnonzero(task.starts[kiln])):
        for some in _by_grid(task, kiln, start, task.rules.moisture_window_pct):
            days = task.days[kiln, some, start]
            days = days[days <= room[start] - start]
            for limit in dict.fromkeys(np.quantile(days, (0.6, 1.0), method="higher").tolist() if len(days) else ()):
                inside = tuple(some[task.days[kiln, some, start] <= limit].tolist())
                found += [
                    Window(start, longer, inside)
                    for longer in with_heater(task, kiln, inside, start, int(limit))
                    if longer <= room[start] - start
                ]
    return list(dict.fromkeys(found))


def wide_windows(task: Task, kiln: int, step_days: int = 1) -> list[Window]:
    """Windows that together hold every charge of the kiln; `days` is the fewest that a charge of each can take: the
    slowest stack's, but for `step_days` less one."""
    found: list[Window] = []
    for start in np.flatnonzero(task.starts[kiln]).tolist():
        able = np.isfinite(task.need.share[kiln]) & (task.ready <= start)
        able &= task.days[kiln, :, start] <= int(task.free_until[kiln, start]) - start
        for group in np.unique(task.groups[able]):
            for some in by_thickness(task, np.flatnonzero(able & (task.groups == group))):
                found += _by_slowest(task, kiln, start, some, step_days)
    return found


def _by_slowest(task: Task, kiln: int, start: int, stacks: np.ndarray, step_days: int) -> Iterator[Window]:
    """For each length of run: stacks that take no longer, in slices of moisture that hold one that takes so long."""
    days, moisture = task.days[kiln, stacks, start], task.moisture[stacks, start]
    width = task.rules.moisture_window_pct + STEP
    shortest = -np.inf
    for fewest in np.unique(days).tolist():
        if fewest < shortest + step_days:
            continue
        shortest = fewest
        inside = days < fewest + step_days
        slowest, wettest = moisture[inside & (days >= fewest)], float(moisture[inside].max())
        seen: set[tuple[int, ...]] = set()
        for number in range(int((wettest - slowest.min()) // STEP) + 2):
            top = wettest - number * STEP + 1e-9
            if not ((slowest <= top) & (slowest >= top - width - 1e-8)).any():
                continue
            key = tuple(stacks[inside & (moisture <= top) & (moisture >= top - width - 1e-8)].tolist())
            if key not in seen:
                seen.add(key)
                yield Window(start, int(fewest), key)


def _spread(starts: np.ndarray) -> Iterator[int]:
    """Starts at least two days apart."""
    last = -2
    for start in starts.tolist():
        if start >= last + 2:
            last = start
            yield start


def _by_grid(task: Task, kiln: int, start: int, width: float) -> Iterator[np.ndarray]:
    """Stacks of a group, alike in thickness, within `width` percent from each step of the grid on."""
    able = np.isfinite(task.need.share[kiln]) & (task.ready <= start) & np.isfinite(task.days[kiln, :, start])
    for group in np.unique(task.groups[able]):
        for some in by_thickness(task, np.flatnonzero(able & (task.groups == group))):
            moisture = task.moisture[some, start]
            seen: set[tuple[int, ...]] = set()
            for step in _steps(moisture):
                inside = np.sort(some[(moisture >= step - 1e-9) & (moisture <= step + width + 1e-9)])
                key: Sequence[int] = tuple(inside.tolist())
                if len(inside) and key not in seen:
                    seen.add(tuple(key))
                    yield inside


def _steps(moisture: np.ndarray) -> list[float]:
    least, most = float(moisture.min()), float(moisture.max())
    return [least + GRID * number for number in range(int((most - least) // GRID) + 1)]
