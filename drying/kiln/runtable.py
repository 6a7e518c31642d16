"""Kiln days by start moisture, many woods and chambers at once: the planner's table."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drying.diffusion import THICK_MM, Wood
from drying.kiln.chamber import Chamber, Plant
from drying.kiln.kilncourse import Runs, follow, load_of
from drying.ranges import FloatArray, within
from drying.schedules import Schedule

# Start moistures above the target at which a table is computed; straight lines between.
ABOVE_TARGET_PCT = (0.5, 1.5, 3.0, 5.0, 8.0, 12.0, 17.0, 24.0, 34.0, 48.0, 65.0, 90.0, 120.0, 180.0)
# A full load of 25 mm boards on stickers takes about this share of the inner chamber: our choice.
FULL_LOAD = 0.3
LONGEST_STEP_H = 96.0


@dataclass(frozen=True, slots=True)
class RunRequest:
    """A wood of a thickness (mm) in a chamber under a schedule to a target (%), at the season's outdoor air.

    `volume_m3` is the wood in the chamber, of this kind all of it; None: a full load, so that the heater's limit is
    felt as it will be in a full charge.
    """

    chamber: Chamber
    wood: Wood
    thickness_mm: float
    target_pct: float
    schedule: Schedule
    outdoor_temperature_c: float
    outdoor_humidity_pct: float
    volume_m3: float | None = None

    def __post_init__(self) -> None:
        within("thickness", self.thickness_mm, 5, 200, "mm")
        within("target moisture content", self.target_pct, 3, 60, "%")
        within("outdoor temperature", self.outdoor_temperature_c, -40, 50, "°C")
        within("outdoor humidity", self.outdoor_humidity_pct, 0, 100, "%")
        within("volume", self.load_m3, 1e-3, 10_000, "m³")

    @property
    def load_m3(self) -> float:
        return FULL_LOAD * self.chamber.volume_m3 if self.volume_m3 is None else self.volume_m3


@dataclass(frozen=True, slots=True)
class RunTable:
    """Days and heater energy (kWh) of runs by start moisture %, ascending, the first at the target itself."""

    moisture_pct: FloatArray
    run_days: FloatArray
    run_heater_kwh: FloatArray
    reachable: bool

    def days(self, moisture_pct: ArrayLike) -> FloatArray:
        """Days from this start moisture: 0 at the target and below, infinite where the kiln cannot reach it; above the
        table's wettest as for that."""
        moisture = within("moisture content", moisture_pct, 0, 400, "%")
        if not self.reachable:
            return np.where(moisture > self.moisture_pct[0], np.inf, 0.0)
        return np.interp(moisture, self.moisture_pct, self.run_days)

    def heater_kwh(self, moisture_pct: ArrayLike) -> FloatArray:
        """Heater energy, kWh, of the request's volume from this start moisture, 0..400 %; held at the wettest row's."""
        return np.interp(within("moisture content", moisture_pct, 0, 400, "%"), self.moisture_pct, self.run_heater_kwh)


def run_tables(requests: Sequence[RunRequest]) -> list[RunTable]:
    """A table (days, kWh by start moisture %) for each request, in one batch; equal requests are computed once.

    ValueError comes from `RunRequest`; method: drying method §8.
    """
    distinct = list(dict.fromkeys(requests))
    # Thick boards take more cells; apart, so that a table never depends on what it was computed with.
    tables: dict[RunRequest, RunTable] = {}
    for thick in (False, True):
        tables |= _tables([one for one in distinct if (one.thickness_mm > THICK_MM) is thick])
    return [tables[one] for one in requests]


def _tables(requests: Sequence[RunRequest]) -> dict[RunRequest, RunTable]:
    starts = [np.array(ABOVE_TARGET_PCT) + one.target_pct for one in requests]
    tables = {}
    for one, start, ran, used in zip(requests, starts, *_batch(requests, starts), strict=True):
        grid = (np.append(one.target_pct, start), np.append(0, ran / 24), np.append(0, used))
        tables[one] = RunTable(*grid, reachable=bool(np.isfinite(ran).all()))
    return tables


def run_days(
    chamber: Chamber,
    wood: Wood,
    thickness_mm: float,
    start_moistures_pct: ArrayLike,
    target_pct: float,
    schedule: Schedule,
    outdoor_temperature_c: float,
    outdoor_humidity_pct: float,
    *,
    volume_m3: float | None = None,
) -> tuple[FloatArray, FloatArray]:
    """Days and heater kWh of runs from each start moisture [S], computed there and not interpolated.

    Infinite days: the kiln's air never brings this wood to the target. Volume as in `RunRequest`. Starts 1..250 %;
    ValueError outside (the model: drying method §8).
    """
    season = (outdoor_temperature_c, outdoor_humidity_pct)
    request = RunRequest(chamber, wood, thickness_mm, target_pct, schedule, *season, volume_m3)
    starts = np.atleast_1d(within("moisture at the start", start_moistures_pct, 1, 250, "%"))
    hours, heater = _batch([request], [starts])
    return hours[0] / 24, heater[0]


def _batch(requests: Sequence[RunRequest], starts: Sequence[FloatArray]) -> tuple[list[FloatArray], list[FloatArray]]:
    """Hours and heater kWh of every request from every start, each in a chamber of its own."""
    if not requests:
        return [], []
    counts = [len(start) for start in starts]
    each = [one for one, count in zip(requests, counts, strict=True) for _ in range(count)]
    chambers = [one.chamber for one in each]
    volume = np.array([one.load_m3 for one in each])
    outdoor = np.array([(one.outdoor_temperature_c, one.outdoor_humidity_pct) for one in each])
    thickness = np.array([[one.thickness_mm for one in each]])
    plant = Plant.of(chambers, volume, outdoor[:, 0], outdoor[:, 1])
    load = load_of([[one.wood for one in each]], thickness, volume[None], chambers)
    target = np.array([one.target_pct / 100 for one in each])
    moisture = np.concatenate(starts)[None] / 100
    runs = Runs.begin(chambers, plant, load, moisture, [one.schedule for one in each], target)
    course = follow(runs, longest_step_h=LONGEST_STEP_H)
    ends = np.cumsum(counts)[:-1]
    return np.split(course.hours, ends), np.split(course.energy_kwh["heater"], ends)
