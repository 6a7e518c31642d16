"""Devices, what they send, and the thinning of what is old."""

import hmac
import secrets
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any

from django.db import transaction
from django.db.models import Avg, Count, F, Max, Min, Sum

from kilnruns.models import Kiln, SensorDevice, SensorMean, SensorReading, SensorSeries
from kilnruns.sensing.message import RAW_DAYS, Refused, Sent, read
from yard.changes import Watched, kept

KEY_BYTES, SECRET_BYTES = 6, 24
TEN_MINUTES_DAYS = 90
"""So long means over ten minutes are kept; hourly ones stay."""
AT_A_TIME_SECONDS = 6 * 3600
"""Thinned in one transaction, so that no writer waits long."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a message's readings."""

    kept: int
    doubled: int
    refused: tuple[Refused, ...]


def hashed(secret: str) -> str:
    """A token is random and long: one round suffices, and each message would pay for more."""
    return sha256(secret.encode()).hexdigest()


def add_device(
    *, kiln: Kiln, name: str, by: Any, by_mqtt: bool = False, silent_after: int = 30
) -> tuple[SensorDevice, str]:
    """A new device and its token, which is told this once."""
    key = secrets.token_hex(KEY_BYTES)
    device = SensorDevice(kiln=kiln, name=name, by_mqtt=by_mqtt, made_by=by, key=key, silent_after_minutes=silent_after)
    with kept("sensor_added", Watched([kiln]), by=by) as act:
        token = _renewed(device)
        act.has_made(device)
    return device, token


def renew_token(*, device: SensorDevice, by: Any) -> str:
    """Another token; the former one is worth nothing from now on. A device shut out is let in again."""
    with kept("sensor_renewed", _of(device, named=True), by=by):
        return _renewed(device)


def _of(device: SensorDevice, *, named: bool = False) -> Watched:
    rows = [SensorDevice.objects.filter(pk=device.pk)]
    return Watched([("kiln", device.kiln_id)], rows, named=[device] if named else [])


def _renewed(device: SensorDevice) -> str:
    secret = secrets.token_urlsafe(SECRET_BYTES)
    device.secret_hash, device.shut_out_at = hashed(secret), None
    device.save()
    return f"{device.key}.{secret}"


def shut_out(*, device: SensorDevice, by: Any, at: datetime) -> None:
    with kept("sensor_shut_out", _of(device), by=by, at=at):
        device.shut_out_at = at
        device.save(update_fields=["shut_out_at"])


def device_of(token: str) -> SensorDevice | None:
    """Whose token it is, unless it was shut out."""
    key, _, secret = token.partition(".")
    known_form = key.isascii() and key.isalnum()  # no database is asked for what can't be a key
    device = SensorDevice.objects.filter(key=key, shut_out_at=None).first() if known_form else None
    known = device.secret_hash if device else hashed("")
    return device if hmac.compare_digest(hashed(secret), known) and device else None


def count_garbled(*, device: SensorDevice) -> None:
    """A message that could not be read at all."""
    SensorDevice.objects.filter(pk=device.pk).update(garbled=F("garbled") + 1)


@transaction.atomic
def take(*, device: SensorDevice, rows: Sequence[Any], at: datetime) -> Taken:
    """Keep what a message brought. Each reading once, in any order; what can't be kept is counted and told."""
    sent: list[Sent] = []
    refused: list[Refused] = []
    for one in read(list(rows), at):
        sent.append(one) if isinstance(one, Sent) else refused.append(one)
    fresh = _fresh(_series(device, sent), sent)
    SensorReading.objects.bulk_create(fresh, ignore_conflicts=True)
    _note_last(fresh)
    fates = Counter(one.fate for one in refused)
    counts = {"kept": len(fresh), "doubled": len(sent) - len(fresh), **fates}
    changes: dict[str, Any] = {name: F(name) + number for name, number in counts.items() if number}
    SensorDevice.objects.filter(pk=device.pk).update(heard_at=at, **changes)
    return Taken(len(fresh), len(sent) - len(fresh), tuple(refused))


def _series(device: SensorDevice, sent: Sequence[Sent]) -> dict[tuple[str, str], SensorSeries]:
    known = {(one.quantity, one.probe): one for one in device.series.all()}
    new = sorted({(one.quantity, one.probe) for one in sent} - set(known))
    if new:
        rows = [SensorSeries(device=device, quantity=quantity, probe=probe) for quantity, probe in new]
        SensorSeries.objects.bulk_create(rows, ignore_conflicts=True)
        known = {(one.quantity, one.probe): one for one in device.series.all()}
    return known


def _fresh(series: dict[tuple[str, str], SensorSeries], sent: Sequence[Sent]) -> list[SensorReading]:
    """What is not kept yet; of two readings of one second the first stands."""
    rows: dict[tuple[int, int], SensorReading] = {}
    for one in sent:
        own = series[one.quantity, one.probe]
        rows.setdefault((own.pk, one.second), SensorReading(series=own, second=one.second, value=one.value))
    if not rows:
        return []
    seconds = [second for _, second in rows]
    near = SensorReading.objects.filter(series__in={key for key, _ in rows}, second__range=(min(seconds), max(seconds)))
    kept = set(near.values_list("series", "second"))
    return [row for key, row in rows.items() if key not in kept]


def _note_last(fresh: Sequence[SensorReading]) -> None:
    newest: dict[int, SensorReading] = {}
    for row in fresh:
        if row.series_id not in newest or row.second > newest[row.series_id].second:
            newest[row.series_id] = row
    for row in newest.values():
        if row.series.last_second is None or row.second > row.series.last_second:
            row.series.last_second, row.series.last_value = row.second, row.value
            row.series.save(update_fields=["last_second", "last_value"])


def thin(*, at: datetime) -> int:
    """Single readings older than three days become means over ten minutes, those older than 90 days hourly ones.

    Nothing that may still come is older (message.py refuses it; an hour more for what is just being written), so a mean
    is whole when it is made. Returns how many rows went.
    """
    now = int(at.timestamp())
    gone = 0
    while step := _thinned_readings(now - RAW_DAYS * 86400 - 3600):
        gone += step
    while step := _thinned_means(now - TEN_MINUTES_DAYS * 86400):
        gone += step
    return gone


@transaction.atomic
def _thinned_readings(before: int) -> int:
    old = SensorReading.objects.filter(second__lt=before - before % 600)
    first = old.aggregate(first=Min("second"))["first"]
    if first is None:
        return 0
    end = min(first - first % 600 + AT_A_TIME_SECONDS, before - before % 600)
    old = old.filter(second__lt=end)
    slots = old.annotate(slot=F("second") - F("second") % 600).values("series", "slot")
    figures = {"n": Count("pk"), "middle": Avg("value"), "lowest": Min("value"), "highest": Max("value")}
    _keep_means(10, slots.annotate(**figures).order_by())
    return old.delete()[0]


@transaction.atomic
def _thinned_means(before: int) -> int:
    old = SensorMean.objects.filter(minutes=10, second__lt=before - before % 3600)
    first = old.aggregate(first=Min("second"))["first"]
    if first is None:
        return 0
    old = old.filter(second__lt=first - first % 3600 + AT_A_TIME_SECONDS)
    slots = old.annotate(slot=F("second") - F("second") % 3600).values("series", "slot")
    middle = Sum(F("mean") * F("count")) / (1.0 * Sum("count"))
    figures = {"n": Sum("count"), "middle": middle, "lowest": Min("low"), "highest": Max("high")}
    _keep_means(60, slots.annotate(**figures).order_by())
    return old.delete()[0]


def _keep_means(minutes: int, rows: Any) -> None:
    SensorMean.objects.bulk_create(
        (
            SensorMean(
                series_id=row["series"],
                minutes=minutes,
                second=row["slot"],
                count=row["n"],
                mean=row["middle"],
                low=row["lowest"],
                high=row["highest"],
            )
            for row in rows
        ),
        batch_size=500,
        ignore_conflicts=True,
    )
