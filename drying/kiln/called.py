"""The air that the schedules of many runs call for, looked up at once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drying.ranges import FloatArray
from drying.schedules import Schedule


@dataclass(frozen=True, slots=True)
class Called:
    """Schedules of runs as tables [X, steps]: where each step begins (fraction), dry bulb °C, humidity %."""

    starts: FloatArray
    dry_bulb_c: FloatArray
    humidity_pct: FloatArray

    @classmethod
    def by(cls, schedules: Sequence[Schedule]) -> "Called":
        """One schedule per run; shorter ones are filled up with steps that never begin."""
        distinct = {one: i for i, one in enumerate(dict.fromkeys(schedules))}
        longest = max(len(one.steps) for one in distinct)
        tables = np.zeros((3, len(distinct), longest))
        tables[0] = -np.inf
        for one, i in distinct.items():
            steps = one.steps
            begins = [step.from_moisture_pct for step in steps[1:]]
            tables[0, i, : len(steps)] = [np.inf, *np.array(begins, float) / 100]
            tables[1, i, : len(steps)] = [step.dry_bulb_c for step in steps]
            tables[2, i, : len(steps)] = [step.relative_humidity_pct for step in steps]
        return cls(*tables[:, [distinct[one] for one in schedules]])

    def pick(self, keep: np.ndarray) -> "Called":
        """The runs of a mask."""
        return Called(self.starts[keep], self.dry_bulb_c[keep], self.humidity_pct[keep])

    def step(self, moisture: FloatArray) -> np.ndarray:
        """Step in force at a moisture (fraction) of each run."""
        return np.sum(moisture[:, None] <= self.starts, axis=1) - 1

    def air(self, moisture: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Dry bulb °C and humidity % called for at a moisture (fraction) of each run."""
        at = np.arange(len(moisture)), self.step(moisture)
        return self.dry_bulb_c[at], self.humidity_pct[at]
