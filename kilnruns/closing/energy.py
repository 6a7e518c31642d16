"""Electricity of a run: by a sensor at the meter, by the meter as noted at visits, by another meter, or estimated.

Where sensor and notes tell of the same stretch, the two are held against each other.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from kilnruns.closing.rows import Rows
from kilnruns.sensing.power import PowerUsed

Source = Literal["sensor", "meter", "other", "estimated"]
WHOLE = 0.9  # of a run, that the meter's records must span; a choice
APART_PCT = 5.0  # that sensor and notes may differ before it is worth a word; a choice


@dataclass(frozen=True, slots=True)
class Checked:
    """kWh by the notes and by the sensor over the same stretch."""

    noted_kwh: float
    sensed_kwh: float

    @property
    def more_pct(self) -> float:
        """How much more the sensor counted, % of what was noted."""
        return 100 * (self.sensed_kwh / self.noted_kwh - 1)

    @property
    def agree(self) -> bool:
        return abs(self.more_pct) <= APART_PCT


@dataclass(frozen=True, slots=True)
class Energy:
    """Electricity of the run, kWh: by a sensor, by the power meter's first and last reading in the records, by another
    meter, or estimated by the model when there is none. `is_part`: what was read spans less than nine tenths of the
    run. `gap_hours` in which the sensor said nothing, `counted` where it counted on meanwhile."""

    kwh: float
    source: Source
    first_at: datetime | None = None
    last_at: datetime | None = None
    is_part: bool = False
    gap_hours: float = 0.0
    counted: bool = True
    checked: Checked | None = None

    @property
    def is_whole(self) -> bool:
        """Measured, and over the whole run: only then it is held against the forecast."""
        return self.source != "estimated" and not self.is_part


def energy(rows: Rows, estimated_kwh: float) -> Energy:
    """What a person typed of another meter goes first, then of sensor and records what spans the run, the sensor before
    the records; with neither whole the longer one, and without any the model's estimate."""
    checked = _checked(rows)
    if rows.costs is not None and rows.costs.energy_kwh is not None:
        return Energy(rows.costs.energy_kwh, "other", checked=checked)
    told = [one for one in (_sensed(rows, checked), _noted(rows, checked)) if one is not None]
    whole = [one for one in told if not one.is_part]
    return next(iter(whole or sorted(told, key=_length, reverse=True)), Energy(estimated_kwh, "estimated"))


def _length(one: Energy) -> timedelta:
    return one.last_at - one.first_at if one.last_at and one.first_at else timedelta(0)


def _sensed(rows: Rows, checked: Checked | None) -> Energy | None:
    used = rows.power
    if used is None:
        return None
    part = used.share < WHOLE
    return Energy(used.total_kwh, "sensor", used.first_at, used.last_at, part, used.gap_hours, used.by_counter, checked)


def _noted(rows: Rows, checked: Checked | None) -> Energy | None:
    read = [(row.at, row.meter_kwh) for row in rows.records if row.meter_kwh is not None]
    if len(read) < 2 or read[-1][1] < read[0][1] or not rows.began or not rows.ended:
        return None
    (first_at, first), (last_at, last) = read[0], read[-1]
    part = (last_at - first_at) < WHOLE * (rows.ended - rows.began)
    return Energy(last - first, "meter", first_at, last_at, is_part=part, checked=checked)


def _checked(rows: Rows) -> Checked | None:
    """None where no two notes lie within what the sensor knows, or power was not heard all the time between."""
    used = rows.power
    if used is None or (used.gaps and not used.by_counter):
        return None
    read = [(row.at, row.meter_kwh) for row in rows.records if row.meter_kwh is not None and _knows(used, row.at)]
    if len(read) < 2 or read[-1][1] <= read[0][1]:
        return None
    (first_at, first), (last_at, last) = read[0], read[-1]
    return Checked(last - first, used.between(first_at, last_at))


def _knows(used: PowerUsed, at: datetime) -> bool:
    return used.first_at <= at <= used.last_at
