"""A finished charge with all that its report reads, in a fixed number of queries, for one charge or for many."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Prefetch, Q

from kilnruns.models import Charge, ChargeStack, FinalMeasurement, RunCosts, RunRecord, StressTest
from kilnruns.sensing.power import PowerUsed, Span, power_used
from yard.models import Reading

BEFORE, AFTER = timedelta(days=14), timedelta(days=14)  # how far from the run a reading still tells of its ends
SAME_DAY = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Rows:
    """`items`: the stacks that went in, their stacks with `valid_readings`; `records`, `measurements` and `tests` are
    the valid ones, in order of time. `power`: what a sensor at the meter told, where it was fetched: see `powered`."""

    charge: Charge
    items: list[ChargeStack]
    records: list[RunRecord]
    measurements: list[FinalMeasurement]
    tests: list[StressTest]
    costs: RunCosts | None
    power: PowerUsed | None = None

    @property
    def began(self) -> datetime | None:
        return self.charge.started_at

    @property
    def ended(self) -> datetime | None:
        return self.charge.unloaded_at

    def of_stack(self, stack: int) -> FinalMeasurement | None:
        """The latest measurement of a stack."""
        return next((one for one in reversed(self.measurements) if one.reading.stack_id == stack), None)


def charges() -> Any:
    """Charges with what `rows_of` needs at hand: eleven queries, whatever their number."""
    readings = Prefetch("stack__readings", Reading.objects.valid().order_by("taken_at", "pk"), to_attr="valid_readings")
    items = ChargeStack.objects.select_related("stack__species", "stack__place")
    items = items.prefetch_related("stack__lines", readings)
    finals = FinalMeasurement.objects.filter(reading__voided_at=None).select_related(
        "reading__stack", "reading__made_by"
    )
    return Charge.objects.select_related("kiln__place", "costs").prefetch_related(
        Prefetch("stacks", items),
        Prefetch("records", RunRecord.objects.valid()),
        Prefetch("final_measurements", finals),
        Prefetch("stress_tests", StressTest.objects.filter(voided_at=None).select_related("stack__species")),
        "degrade",
    )


def finished() -> Q:
    return Q(started_at__isnull=False, unloaded_at__isnull=False)


def rows_of(charge: Charge) -> Rows:
    """From a charge that came out of `charges()`: no query."""
    return Rows(
        charge=charge,
        items=[item for item in charge.stacks.all() if item.loaded_at or charge.unloaded_at],
        records=list(charge.records.all()),
        measurements=list(charge.final_measurements.all()),
        tests=list(charge.stress_tests.all()),
        costs=getattr(charge, "costs", None),
    )


def powered(found: Iterable[Rows]) -> list[Rows]:
    """The same rows with what sensors told of their electricity: three queries for all of them."""
    told = list(found)
    over = [(rows, rows.began, rows.ended) for rows in told]
    spans = {
        rows.charge.pk: Span(rows.charge.kiln_id, began, ended)
        for rows, began, ended in over
        if began is not None and ended is not None and began < ended
    }
    used = dict(zip(spans, power_used(list(spans.values())), strict=True))
    return [replace(rows, power=used.get(rows.charge.pk)) for rows in told]


def before(item: Any, began: datetime | None) -> float | None:
    """Moisture of a stack by its reading nearest to the start, up to two weeks before it; %."""
    return _near(item, began, began and began - BEFORE, began and began + SAME_DAY)


def after(item: Any, ended: datetime | None) -> float | None:
    """Moisture by its reading nearest to the end, up to two weeks after it; %."""
    return _near(item, ended, ended and ended - SAME_DAY, ended and ended + AFTER)


def _near(item: Any, at: datetime | None, first: datetime | None, last: datetime | None) -> float | None:
    if at is None or first is None or last is None:
        return None
    near = [row for row in item.stack.valid_readings if row.board_id is None and first <= row.taken_at <= last]
    return min(near, key=lambda row: abs(row.taken_at - at)).moisture_pct if near else None
