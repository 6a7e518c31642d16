"""Air of kilns at one dry bulb and any humidity, fast, since a step of the balance tries several."""

from functools import cache

import numpy as np

from drying import air, diffusion, diffusivity
from drying.ranges import FloatArray

DRIEST_PCT, DAMPEST_PCT = 3.0, 97.0


class KilnAir:
    """Air of one dry bulb per run [X]; equilibrium and evaporative cooling are bilinear in a table of 1 °C and 1 %."""

    def __init__(self, temperature_c: FloatArray, pressure_pa: float) -> None:
        self.temperature = np.clip(temperature_c, diffusivity.COLDEST_C, diffusivity.HOTTEST_C - 0.01)
        self.pressure_pa = pressure_pa
        self.saturated_pa = air.saturation_pressure_pa(self.temperature)
        self.saturated = air.vapour_concentration_kg_m3(self.temperature, 100.0)
        self.saturation = diffusivity.saturation(self.temperature)
        self.pace, self.melted = diffusion.thawed(self.temperature)
        self.row = diffusivity.activity_row(self.temperature)
        position = self.temperature - diffusivity.COLDEST_C
        cell = position.astype(np.intp)
        table, share = _air_table(round(pressure_pa)), position - cell
        self.lines = table[:, cell] * (1 - share)[:, None] + table[:, cell + 1] * share[:, None]
        self.runs = np.arange(len(cell))

    def at(self, humidity_pct: FloatArray) -> tuple[diffusion.Air, FloatArray]:
        """The air at this humidity %, and its humidity ratio, kg/kg."""
        position = np.clip(humidity_pct - DRIEST_PCT, 0, DAMPEST_PCT - DRIEST_PCT - 1e-6)
        cell = position.astype(np.intp)
        share = position - cell
        found = self.lines[:, self.runs, cell] * (1 - share) + self.lines[:, self.runs, cell + 1] * share
        vapour = humidity_pct / 100 * self.saturated_pa
        climate = diffusion.Air(
            temperature_c=self.temperature,
            saturated_kg_m3=self.saturated,
            cooling=found[1],
            equilibrium=found[0],
            saturation=self.saturation,
            pace=self.pace,
            melted=self.melted,
            row=self.row,
            activity=diffusivity.tabulated_activity(found[0], self.row),
        )
        return climate, 0.621945 * vapour / (self.pressure_pa - vapour)


@cache
def _air_table(pressure_pa: int) -> FloatArray:
    """Equilibrium (fraction) and cooling by °C from COLDEST_C and by % from DRIEST_PCT: [2, T, RH]."""
    temperature = np.arange(diffusivity.COLDEST_C, diffusivity.HOTTEST_C + 0.5)
    humidity = np.arange(DRIEST_PCT, DAMPEST_PCT + 0.5)
    table = diffusion.Air.of(temperature[:, None], humidity[None, :], float(pressure_pa))
    return np.stack([table.equilibrium, table.cooling])
