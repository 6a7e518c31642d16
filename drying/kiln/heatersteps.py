"""A heater that is switched in equal steps (phases): how long each stands on, and what it draws."""

import numpy as np

from drying.ranges import FloatArray, within


def step_hours(heater_kw: FloatArray, hours: FloatArray, power_kw: float, steps: int) -> tuple[float, ...]:
    """Hours for which 0, 1, ... `steps` (1..24) equal steps of a heater of `power_kw` are on, for a mean power.

    A thermostat switches between the two steps about the mean that is needed, so that the energy is the same (geometry
    of a duty cycle). `heater_kw` [T] 0..power for `hours` [T]; ValueError outside.
    """
    count = int(within("heater steps", steps, 1, 24, ""))
    need = within("heater power", heater_kw, 0, power_kw + 1e-6, "kW") * count / power_kw
    lower = np.clip(np.floor(need), 0, count - 1).astype(int)
    share = np.clip(need - lower, 0, 1)
    found = np.bincount(lower, hours * (1 - share), count + 1) + np.bincount(lower + 1, hours * share, count + 1)
    return tuple(found.tolist())


def highest_kw(on_hours: tuple[float, ...], power_kw: float) -> float:
    """Power, kW, of the highest step that is ever on: what the fuses must bear, fans apart."""
    used = [step for step, hours in enumerate(on_hours) if hours > 1e-6]
    return max(used, default=0) * power_kw / (len(on_hours) - 1)
