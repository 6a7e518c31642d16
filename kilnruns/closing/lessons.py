"""What a kiln's finished runs tell of its walls, its leaks and the humidity that it holds; nothing is taken over here.

A run tells of the walls when the power meter was read over most of it, the air was noted, and its wood was read at the
end. The air noted by a person is the air of that moment; between two notes it is taken as straight.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from drying.air import pressure_pa
from drying.heat import Chamber
from drying.heatloss import Pooled, RunHeat, Shut, WallsFound, pooled_leak, pooled_walls, walls
from kilnruns.closing.account import Came, Lot, came
from kilnruns.closing.noted_air import emc_of, humidity_pct
from kilnruns.closing.rows import Rows
from kilnruns.models import Kiln, KilnLesson, RunRecord
from kilnruns.planning.chambers import chamber
from kilnruns.planning.durations import Season, season
from kilnruns.planning.kept_course import schedule_of
from yard.models import Place

LEAST_RECORDS = 3
DIFFERENT = 0.05  # share by which a figure must differ from the kiln's own to be offered; a choice


@dataclass(frozen=True, slots=True)
class Lesson:
    """A figure that runs taught beside the kiln's own; `differs`: it is worth taking over."""

    quantity: str
    own: float
    found: Pooled

    @property
    def differs(self) -> bool:
        return abs(self.found.value - self.own) > DIFFERENT * self.own


@dataclass(frozen=True, slots=True)
class Held:
    """How the air noted lay to the air called for, in points of EMC: the mean difference, of so many notes."""

    more_pct: float
    notes: int


@dataclass(frozen=True, slots=True)
class Lessons:
    walls: Lesson | None
    leak: Lesson | None
    held: Held | None

    @property
    def offered(self) -> list[Lesson]:
        return [one for one in (self.walls, self.leak) if one]

    def of(self, quantity: str) -> Lesson | None:
        return next((one for one in self.offered if one.quantity == quantity), None)


def lessons(kiln: Kiln, runs: Sequence[Rows]) -> Lessons:
    """From finished runs at hand; one query, for the climate outdoors."""
    places = list(Place.objects.outdoors())
    room = chamber(kiln)
    known = [(rows, account) for rows in runs if (account := _known(rows)) is not None]
    told = [one for rows, account in known if (one := _walls(rows, account, room, places)) is not None]
    shut = [one for rows, account in known for one in _shut(rows, account, room, places)]
    found, leak = pooled_walls(told), pooled_leak(shut)
    return Lessons(
        walls=Lesson(KilnLesson.Quantity.WALL_U.value, kiln.wall_u_w_m2k, found) if found else None,
        leak=Lesson(KilnLesson.Quantity.LEAK.value, kiln.leak_per_h, leak) if leak else None,
        held=_held(known, room.altitude_m),
    )


def _known(rows: Rows) -> Came | None:
    """The run's account, where the moisture of all its wood is known before and after: without it nothing is told."""
    account = came(rows)
    if account is None or any(lot.after_pct is None or lot.before_pct is None for lot in account.lots):
        return None
    return account


def _walls(rows: Rows, account: Came, room: Chamber, places: Sequence[Place]) -> WallsFound | None:
    if rows.began is None or not account.energy.is_whole:
        return None
    found = _noted_and_used(rows, account)
    if found is None:
        return None
    noted, used_kwh = found
    if len(noted) < LEAST_RECORDS:
        return None
    outdoors = season(places, rows.began.date())
    humidity = [_humidity_pct(row, room.altitude_m) for row in noted]
    moisture = [_moisture_pct(account.lots, rows, row.at) for row in noted]
    called = [_called(rows, one)["humidity_pct"] for one in moisture]
    try:
        return walls(
            RunHeat(
                key=str(rows.charge.pk),
                hours=np.array([(row.at - rows.began) / timedelta(hours=1) for row in noted]),
                temperature_c=np.array([row.dry_bulb_c for row in noted], float),
                humidity_pct=np.array([own or other for own, other in zip(humidity, called, strict=True)], float),
                moisture_pct=np.array(moisture),
                electricity_kwh=used_kwh,
                dry_kg=sum(lot.dry_kg for lot in account.lots),
                wall_m2=room.wall_w_k / room.wall_u_w_m2k,
                outdoor_temperature_c=outdoors.temperature_c,
                outdoor_humidity_pct=outdoors.humidity_pct,
                altitude_m=room.altitude_m,
                humidity_known=all(humidity),
                moistened_leak_kg_h=_moistened_leak_kg_h(rows, account, room, outdoors),
            )
        )
    except ValueError:  # a slip of the pen among the notes: this run tells nothing
        return None


def _moistened_leak_kg_h(rows: Rows, account: Came, room: Chamber, outdoors: Season) -> float:
    """Outdoor air that leaks in and is kept damp, kg/h: by the kiln's own air changes, where it can add moisture."""
    if not rows.charge.kiln.humidifies:
        return 0.0
    density = float(pressure_pa(room.altitude_m)) / (287.05 * (outdoors.temperature_c + 273.15))
    return room.leak_per_h * _free_m3(account, room) * density


def _free_m3(account: Came, room: Chamber) -> float:
    return max(room.volume_m3 - account.green_m3, 0.2 * room.volume_m3)


def _noted_and_used(rows: Rows, account: Came) -> tuple[list[RunRecord], float] | None:
    """Notes of the air with the electricity from the first of them to the last, kWh, by the meter that the account
    goes by; None where that one was not read with the air."""
    used = rows.power
    if account.energy.source == "sensor" and used is not None:
        noted = [row for row in rows.records if row.dry_bulb_c is not None and used.first_at <= row.at <= used.last_at]
        return (noted, used.between(noted[0].at, noted[-1].at)) if noted else None
    noted = _between_meters(rows.records)
    if account.energy.source != "meter" or not noted:
        return None
    return noted, (noted[-1].meter_kwh or 0.0) - (noted[0].meter_kwh or 0.0)


def _between_meters(records: Sequence[RunRecord]) -> list[RunRecord]:
    """Notes of the air, from the first to the last that bears the meter, too."""
    noted = [row for row in records if row.dry_bulb_c is not None]
    metered = [number for number, row in enumerate(noted) if row.meter_kwh is not None]
    return noted[metered[0] : metered[-1] + 1] if metered else []


def _humidity_pct(row: RunRecord, altitude_m: float) -> float | None:
    return humidity_pct(row.dry_bulb_c, row.wet_bulb_c, row.humidity_pct, altitude_m)


def _moisture_pct(lots: Sequence[Lot], rows: Rows, at: datetime) -> float:
    """The charge's mean at a moment, by dry mass: each stack straight between its readings and its two ends."""
    found = [_moisture_of(lot, rows, at) for lot in lots]
    return float(np.average(found, weights=[lot.dry_kg for lot in lots]))


def _moisture_of(lot: Lot, rows: Rows, at: datetime) -> float:
    began, ended = rows.began or at, rows.ended or at
    stack: Any = lot.item.stack
    inside = [(row.taken_at, row.moisture_pct) for row in stack.valid_readings if began < row.taken_at < ended]
    ends = [(began, lot.before_pct or 0.0), *inside, (ended, lot.after_pct or 0.0)]
    hours = [(moment - began) / timedelta(hours=1) for moment, _pct in ends]
    return float(np.interp((at - began) / timedelta(hours=1), hours, [moisture for _moment, moisture in ends]))


def _called(rows: Rows, moisture_pct: float) -> dict[str, float]:
    """The step of the charge's schedule in force at a moisture; half damp air where none was kept."""
    schedule = schedule_of(rows.charge.course)
    if schedule is None:
        return {"humidity_pct": 50.0, "emc_pct": 8.5}
    step = schedule.steps[int(schedule.step_index(moisture_pct))]
    return {"humidity_pct": step.relative_humidity_pct, "emc_pct": step.equilibrium_moisture_pct}


def _shut(rows: Rows, account: Came, room: Chamber, places: Sequence[Place]) -> list[Shut]:
    """Stretches between two notes that both say vents shut and how damp the air was."""
    if rows.began is None:
        return []
    air, free = season(places, rows.began.date()), _free_m3(account, room)
    stretches = pairwise(rows.records)
    found = [_stretch(early, late, rows, account.lots, air, free, room.altitude_m) for early, late in stretches]
    return [one for one in found if one is not None]


def _stretch(
    early: RunRecord, late: RunRecord, rows: Rows, lots: Sequence[Lot], air: Season, free_m3: float, altitude_m: float
) -> Shut | None:
    damp = [_humidity_pct(row, altitude_m) for row in (early, late)]
    warm = [row.dry_bulb_c for row in (early, late)]
    if early.vents_pct != 0 or late.vents_pct != 0 or None in damp or None in warm:
        return None
    lost = _moisture_pct(lots, rows, early.at) - _moisture_pct(lots, rows, late.at)
    try:
        return Shut(
            hours=(late.at - early.at) / timedelta(hours=1),
            water_kg=lost / 100 * sum(lot.dry_kg for lot in lots),
            temperature_c=float(np.mean([one or 0.0 for one in warm])),
            humidity_pct=float(np.mean([one or 0.0 for one in damp])),
            outdoor_temperature_c=air.temperature_c,
            outdoor_humidity_pct=air.humidity_pct,
            free_m3=free_m3,
            altitude_m=altitude_m,
        )
    except ValueError:  # notes a few minutes apart, or wood that took water up: it tells nothing
        return None


def _held(known: Sequence[tuple[Rows, Came]], altitude_m: float) -> Held | None:
    apart = []
    for rows, account in known:
        for row in rows.records:
            held = emc_of(row, altitude_m)
            if held is not None:
                apart.append(held - _called(rows, _moisture_pct(account.lots, rows, row.at))["emc_pct"])
    return Held(float(np.mean(apart)), len(apart)) if apart else None
