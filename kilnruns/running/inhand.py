"""What is known of a run in hand: records, the samples' moisture over time, and the air, noted or measured."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from drying import wood
from drying.air import pressure_pa
from drying.schedules import Finish, Schedule
from kilnruns.closing.noted_air import humidity_pct
from kilnruns.closing.stress import StressFound, said_of
from kilnruns.models import Charge, RunRecord, SensorDevice, StressTest
from kilnruns.planning.kept_course import can_condition, finish_of, schedule_of
from yard.models import Method, Reading, Stack

NO_TEST = StressFound((), "", 0)
# Readings from so long before the door was closed still tell what went in: common practice, no source.
BEFORE_START = timedelta(days=3)
# A sensor's air counts as the air of now for so long.
SENSOR_AGE = timedelta(hours=2)


@dataclass(frozen=True, slots=True)
class Air:
    """The air at a moment: °C, humidity % and EMC % where they can be told; `sensed` by a sensor, else noted."""

    at: datetime
    dry_bulb_c: float
    humidity_pct: float | None
    emc_pct: float | None
    sensed: bool = False


@dataclass(frozen=True, slots=True)
class Series:
    """One sample (a weighed board, or a stack's meter values) over time: when, and moisture %, oldest first.

    `latest_pct` are the single values of the last visit: one of a board, several of a meter.
    """

    stack: Stack
    label: str
    at: tuple[datetime, ...]
    moisture_pct: tuple[float, ...]
    latest_pct: tuple[float, ...]

    @property
    def weighed(self) -> bool:
        return bool(self.label)


@dataclass(frozen=True, slots=True)
class RunInHand:
    """A charge in the kiln with all that is known of its run; `records` oldest first, without voided ones."""

    charge: Charge
    stacks: Sequence[Stack]
    records: Sequence[RunRecord]
    series: Sequence[Series]
    air: Sequence[Air] = ()
    devices: Sequence[SensorDevice] = ()
    all_records: Sequence[RunRecord] = field(default=())
    stress: StressFound = NO_TEST

    @property
    def schedule(self) -> Schedule | None:
        """The charge's own copy; None where it has none."""
        return schedule_of(self.charge.course)

    @property
    def pressure_pa(self) -> float:
        """Of the air where the kiln stands, by its height."""
        return float(pressure_pa(self.charge.kiln.place.altitude_m))

    @property
    def finish(self) -> Finish:
        return finish_of(self.charge)

    @property
    def conditions(self) -> bool:
        """Whether this kiln can condition, by what its course says."""
        return can_condition(self.charge)

    @property
    def heard(self) -> list[Series]:
        """The samples that count: a stack with weighed boards is told by these alone, and what was measured before
        the start by nothing any more once something was measured since."""
        boards = {one.stack.pk for one in self.series if one.weighed}
        found = [one for one in self.series if one.weighed or one.stack.pk not in boards]
        start = self.charge.started_at
        since = [one for one in found if start is not None and one.at[-1] >= start]
        return since or found

    @property
    def samples_pct(self) -> list[float]:
        """The latest values of each sample that counts."""
        return [value for one in self.heard for value in one.latest_pct]

    @property
    def sampled_at(self) -> datetime | None:
        return max((one.at[-1] for one in self.series), default=None)

    @property
    def told_by(self) -> str:
        """What tells of its wood: "boards", "pins" that were left in it, "both"."""
        items = [item for item in self.charge.stacks.all() if not item.unloaded_at]
        pins = {item.stack_id for item in items if item.pins_left}
        if not pins:
            return "boards"
        boards = {one.stack.pk for one in self.series if one.weighed}
        others = boards if self.series else {item.stack_id for item in items}
        return "both" if others - pins else "pins"

    @property
    def last_air(self) -> Air | None:
        return max(self.air, key=lambda one: one.at, default=None)

    @property
    def last_at(self) -> datetime:
        """The last visit, or the start."""
        seen = [record.at for record in self.records]
        return max(at for at in (*seen, self.sampled_at, self.charge.started_at) if at is not None)

    @property
    def set_to(self) -> RunRecord | None:
        """The last record that says what the kiln was set to; steaming is a short while in between."""
        lasting = (record for record in reversed(self.records) if record.phase not in ("", "steaming"))
        return next(lasting, None)

    def last(self, name: str) -> Any:
        """The last value noted of one of the record's fields; None or "" where it never was."""
        return next((value for one in reversed(self.records) if (value := getattr(one, name)) not in (None, "")), None)


def read(charge: Charge) -> RunInHand:
    """One run, see `read_all`."""
    return read_all([charge])[0]


def read_all(charges: Iterable[Charge]) -> list[RunInHand]:
    """Started charges with what is known of them: five queries besides the charges' own stacks, however many."""
    charges = [charge for charge in charges if charge.started_at]
    records, devices = defaultdict(list), defaultdict(list)
    noted = RunRecord.objects.filter(charge__in=charges).select_related("made_by").prefetch_related("readings__stack")
    for record in noted.order_by("at", "pk"):
        records[record.charge_id].append(record)
    heard = SensorDevice.objects.filter(kiln__in=[one.kiln_id for one in charges], shut_out_at=None)
    for device in heard.prefetch_related("series"):
        devices[device.kiln_id].append(device)
    tests = defaultdict(list)
    for test in StressTest.objects.filter(charge__in=charges, voided_at=None).select_related("stack__species"):
        tests[test.charge_id].append(test)
    readings = _readings(charges)
    return [
        replace(_in_hand(one, records[one.pk], devices[one.kiln_id], readings), stress=said_of(tests[one.pk]))
        for one in charges
    ]


def _readings(charges: Sequence[Charge]) -> dict[int, list[Reading]]:
    stacks = [item.stack_id for charge in charges for item in charge.stacks.all()]
    earliest = min((charge.started_at for charge in charges if charge.started_at), default=datetime.now(UTC))
    found = defaultdict(list)
    kept = Reading.objects.valid().filter(stack__in=stacks, taken_at__gte=earliest - BEFORE_START)
    for reading in kept.order_by("taken_at", "pk"):
        found[reading.stack_id].append(reading)
    return found


def _in_hand(
    charge: Charge, records: list[RunRecord], devices: list[SensorDevice], readings: dict[int, list[Reading]]
) -> RunInHand:
    valid = [record for record in records if record.voided_at is None]
    stacks = [item.stack for item in charge.stacks.all() if not item.unloaded_at]
    series = [one for stack in stacks for one in _series(stack, readings.get(stack.pk, []), charge)]
    series.sort(key=lambda one: (not one.weighed, one.label))  # as the boards are named, and meters after them
    return RunInHand(
        charge, stacks, valid, series, tuple(_air(valid, devices, charge.kiln.place.altitude_m)), devices, records
    )


def _series(stack: Stack, readings: Sequence[Reading], charge: Charge) -> list[Series]:
    found: dict[str, list[tuple[datetime, float, tuple[float, ...]]]] = defaultdict(list)
    for reading in readings:
        if charge.started_at and reading.taken_at < charge.started_at - BEFORE_START:
            continue
        if reading.method == Method.SAMPLE_BOARD:
            for label, value in zip(reading.sample_labels, reading.corrected_pct, strict=False):
                found[label].append((reading.taken_at, value, (value,)))
        else:
            found[""].append((reading.taken_at, reading.moisture_pct, tuple(reading.corrected_pct)))
    return [_one(stack, label, rows) for label, rows in sorted(found.items())]


def _one(stack: Stack, label: str, rows: Sequence[tuple[datetime, float, tuple[float, ...]]]) -> Series:
    return Series(stack, label, tuple(r[0] for r in rows), tuple(r[1] for r in rows), rows[-1][2] or (rows[-1][1],))


def _air(records: Iterable[RunRecord], devices: Iterable[SensorDevice], altitude_m: float) -> Iterable[Air]:
    for record in records:
        if record.dry_bulb_c is not None:
            damp = humidity_pct(record.dry_bulb_c, record.wet_bulb_c, record.humidity_pct, altitude_m)
            yield _air_of(record.at, record.dry_bulb_c, damp)
    for device in devices:
        last = {one.quantity: one for one in device.series.all() if one.last_value is not None}
        dry = last.get("dry_bulb_c")
        if dry is None or dry.last_second is None:
            continue
        near = {
            name: one.last_value
            for name, one in last.items()
            if abs((one.last_second or 0) - dry.last_second) < SENSOR_AGE.total_seconds()
        }
        at = datetime.fromtimestamp(dry.last_second, UTC)
        dry_c = near["dry_bulb_c"] or 0.0
        damp = humidity_pct(dry_c, near.get("wet_bulb_c"), near.get("humidity_pct"), altitude_m)
        yield _air_of(at, dry_c, damp, sensed=True)


def _air_of(at: datetime, dry_c: float, humidity: float | None, sensed: bool = False) -> Air:
    emc = None if humidity is None else float(wood.equilibrium_moisture_pct(max(dry_c, 0.0), humidity))
    return Air(at, dry_c, humidity, emc, sensed)
