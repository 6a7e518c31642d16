"""Electricity that a kiln's own sensors measured over its runs: what was used by when, and where nothing was heard."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from django.db.models import Avg, F, Max, Min, Q, Sum
from django.db.models.functions import Floor

from kilnruns.models import Quantity, SensorMean, SensorReading, SensorSeries

HOUR = 3600
GAP_HOURS = 2.0  # without a reading, that is worth a word; a choice


@dataclass(frozen=True, slots=True)
class Slot:
    """An hour (since 1970) of a series: the seconds of its first and last value, the lowest, mean and highest one."""

    hour: int
    first: float
    last: float
    low: float
    mean: float
    high: float


@dataclass(frozen=True, slots=True)
class Span:
    """A run of a kiln (its key), from when to when."""

    kiln: int
    began: datetime
    ended: datetime

    @property
    def hours(self) -> float:
        return (self.ended - self.began) / timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class PowerUsed:
    """kWh used by each of `hours` since the run began, rising from 0. `by_counter`: a counting meter, which counts on
    while nothing is heard; else power times the hours it was heard in. `gaps`: hours (from, to) without a reading."""

    span: Span
    hours: tuple[float, ...]
    kwh: tuple[float, ...]
    by_counter: bool
    gaps: tuple[tuple[float, float], ...]

    @property
    def total_kwh(self) -> float:
        return self.kwh[-1]

    @property
    def first_at(self) -> datetime:
        return self._at(self.hours[0])

    @property
    def last_at(self) -> datetime:
        return self._at(self.hours[-1])

    @property
    def gap_hours(self) -> float:
        return sum(last - first for first, last in self.gaps)

    @property
    def share(self) -> float:
        """Of the run that is known: with a counter all between its first and last value, else without the gaps."""
        heard = self.hours[-1] - self.hours[0] if self.by_counter else self.span.hours - self.gap_hours
        return heard / self.span.hours

    def between(self, first: datetime, last: datetime) -> float:
        """kWh from one moment to another; what lies outside of what was heard counts as nothing."""
        early, late = ((at - self.span.began) / timedelta(hours=1) for at in (first, last))
        return float(np.subtract(*np.interp([late, early], self.hours, self.kwh)))

    def _at(self, hour: float) -> datetime:
        return self.span.began + timedelta(hours=hour)


def power_used(spans: Sequence[Span]) -> list[PowerUsed | None]:
    """Of each run what its kiln's sensors measured, None where they measured none: three queries for all of them.

    Of several devices the one that was heard longest counts, of one device's probes the sum: each has its own phase or
    machine. A counter goes before power.
    """
    wanted = {"device__kiln__in": {span.kiln for span in spans}, "quantity__in": (Quantity.ENERGY, Quantity.POWER)}
    series = list(SensorSeries.objects.filter(**wanted).select_related("device"))
    slots = _slots(series, spans) if series else {}
    return [_of(span, [one for one in series if one.device.kiln_id == span.kiln], slots) for span in spans]


def _slots(series: Sequence[SensorSeries], spans: Sequence[Span]) -> dict[int, list[Slot]]:
    """Each series by the hour, in order; where thinned and single values meet, the two together."""
    within = Q()
    for span in spans:
        first, last = span.began.timestamp(), span.ended.timestamp()
        within |= Q(series__device__kiln=span.kiln, second__gte=int(first), second__lte=int(last))
    slot = Floor(F("second") / float(HOUR))
    raw = SensorReading.objects.filter(within, series__in=series).values("series", slot=slot).order_by()
    raw = raw.annotate(first=Min("second"), last=Max("second"))
    raw = raw.annotate(lowest=Min("value"), middle=Avg("value"), highest=Max("value"))
    means = SensorMean.objects.filter(within, series__in=series).values("series", slot=slot).order_by()
    means = means.annotate(first=Min("second"), last=Max(F("second") + 60 * F("minutes")))
    weighted = Sum(F("mean") * F("count")) / (1.0 * Sum("count"))
    means = means.annotate(lowest=Min("low"), middle=weighted, highest=Max("high"))
    columns = ("series", "slot", "first", "last", "lowest", "middle", "highest")
    found: dict[int, dict[int, Slot]] = defaultdict(dict)
    for one, hour, *told in [*means.values_list(*columns), *raw.values_list(*columns)]:
        new, before = Slot(int(hour), *map(float, told)), found[one].get(int(hour))
        found[one][int(hour)] = _both(before, new) if before else new
    return {one: [by_hour[hour] for hour in sorted(by_hour)] for one, by_hour in found.items()}


def _both(early: Slot, late: Slot) -> Slot:
    """An hour that is thinned in part."""
    low, high = min(early.low, late.low), max(early.high, late.high)
    return replace(late, first=min(early.first, late.first), low=low, high=high)


def _of(span: Span, series: Sequence[SensorSeries], slots: dict[int, list[Slot]]) -> PowerUsed | None:
    for quantity in (Quantity.ENERGY, Quantity.POWER):
        probes: dict[int, list[list[Slot]]] = defaultdict(list)
        for one in series:
            inside = [slot for slot in slots.get(one.pk, []) if 0 <= _since(span, slot.first) <= span.hours]
            if one.quantity == quantity and len(inside) > 1:
                probes[one.device_id].append(inside)
        told = [_used(span, found, quantity == Quantity.ENERGY) for found in probes.values()]
        if told:
            return max(told, key=lambda used: used.share)
    return None


def _since(span: Span, second: float) -> float:
    """Hours since the run began."""
    return (second - span.began.timestamp()) / HOUR


def _used(span: Span, probes: Sequence[Sequence[Slot]], by_counter: bool) -> PowerUsed:
    courses = [_course(span, slots, by_counter) for slots in probes]
    hours = np.unique(np.concatenate([course[0] for course in courses]))
    kwh = np.sum([np.interp(hours, *course) for course in courses], axis=0)
    heard = sorted({slot.hour for slots in probes for slot in slots})
    return PowerUsed(span, tuple(map(float, hours)), tuple(map(float, kwh)), by_counter, _gaps(span, heard))


def _course(span: Span, slots: Sequence[Slot], by_counter: bool) -> tuple[Any, Any]:
    """Hours since the start and kWh by then, rising from 0."""
    return _counted(span, slots) if by_counter else _powered(span, slots)


def _counted(span: Span, slots: Sequence[Slot]) -> tuple[Any, Any]:
    """A counter that falls was set back or changed: of that hour only what it showed in it counts."""
    hours, kwh, before = [_since(span, slots[0].first)], [0.0], slots[0].low
    for slot in slots:
        more = slot.high - (before if slot.high >= before else slot.low)
        hours.append(max(_since(span, slot.last), hours[-1]))
        kwh.append(kwh[-1] + more)
        before = slot.high
    return np.array(hours), np.array(kwh)


def _powered(span: Span, slots: Sequence[Slot]) -> tuple[Any, Any]:
    """The mean of each hour that was heard stands for it; nothing is known of the hours between."""
    hours, kwh = [_within(span, slots[0].hour)], [0.0]
    for slot in slots:
        begin, end = _within(span, slot.hour), _within(span, slot.hour + 1)
        hours += [begin, end]
        kwh += [kwh[-1], kwh[-1] + slot.mean * (end - begin)]
    return np.array(hours), np.array(kwh)


def _within(span: Span, hour: int) -> float:
    return float(np.clip(_since(span, hour * HOUR), 0.0, span.hours))


def _gaps(span: Span, heard: Sequence[int]) -> tuple[tuple[float, float], ...]:
    ends = [0.0, *(_within(span, hour + 1) for hour in heard)]
    begins = [*(_within(span, hour) for hour in heard), span.hours]
    return tuple((end, begin) for end, begin in zip(ends, begins, strict=True) if begin - end > GAP_HOURS)
