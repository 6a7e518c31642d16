"""A sensor's message, read without trust: each of its readings is taken or refused by itself, with a reason.

A message is {"readings": [{"quantity": "dry_bulb_c", "value": 51.2, "at": "2026-03-01T10:00:00Z", "probe": "1"}, ...]};
`at` may also be seconds since 1970, and without it the moment of arrival counts. `probe` may be missing.
"""

import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from kilnruns.models import Quantity

MOST_READINGS = 1000
MOST_BYTES = 128 * 1024
RAW_DAYS = 3
"""So long single values are kept; a message older than that can't be told from one sent twice, and is refused."""
AHEAD_SECONDS = 300
"""So far a device's clock may be ahead."""
SECONDS_AT_MOST = 10**11
"""A time given as a number beyond it is in other units: milliseconds since 1970 are fifteen times as many."""
# What each can be at most, in its unit, in a kiln that works or fails: beyond it a sensor or its wire is broken.
RANGES: dict[str, tuple[float, float]] = {
    Quantity.DRY_BULB: (-40, 150),
    Quantity.WET_BULB: (-40, 110),
    Quantity.HUMIDITY: (0, 100),
    Quantity.WOOD_RESISTANCE: (1e-3, 1e6),
    Quantity.WOOD_TEMPERATURE: (-40, 130),
    Quantity.WOOD_MOISTURE: (0, 250),
    Quantity.POWER: (0, 5000),
    Quantity.ENERGY: (0, 1e9),
}
PROBE = re.compile(r"[A-Za-z0-9_-]{0,12}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Sent:
    """A reading that can be kept: seconds since 1970, the value in the quantity's unit."""

    quantity: str
    probe: str
    second: int
    value: float


@dataclass(frozen=True, slots=True)
class Refused:
    """A reading that can't: its place in the message, the fate it is counted under, and why in words."""

    index: int
    fate: str
    why: str


class MessageError(ValueError):
    """The message as a whole can't be read."""


def rows(body: bytes | str) -> list[Any]:
    """The readings of a message; MessageError says what a message is when it is none."""
    if len(body) > MOST_BYTES:
        raise MessageError(f"longer than {MOST_BYTES // 1024} KB; send fewer readings at a time")
    try:
        data = json.loads(body)
    except (ValueError, RecursionError) as error:
        raise MessageError(f"not JSON: {error}") from error
    found = data.get("readings") if isinstance(data, dict) else None
    if not isinstance(found, list):
        raise MessageError('give an object with a list "readings"')
    if len(found) > MOST_READINGS:
        raise MessageError(f"{len(found)} readings; send {MOST_READINGS} at a time at most")
    return found


def read(found: list[Any], now: datetime) -> Iterator[Sent | Refused]:
    """Each reading as it can be kept, or why it can't."""
    second = int(now.timestamp())
    for index, row in enumerate(found):
        yield _one(index, row, second)


def _one(index: int, row: Any, now: int) -> Sent | Refused:
    if not isinstance(row, dict):
        return Refused(index, "garbled", "a reading is an object with quantity and value")
    quantity, probe = row.get("quantity"), row.get("probe", "")
    if not isinstance(quantity, str) or quantity not in RANGES:
        return Refused(index, "garbled", f"quantity is one of {', '.join(RANGES)}")
    if isinstance(probe, int) and not isinstance(probe, bool):
        probe = str(probe)
    if not isinstance(probe, str) or not PROBE.fullmatch(probe):
        return Refused(index, "garbled", "probe is up to 12 letters, digits, - or _")
    value, at = _number(row.get("value")), _second(row.get("at", now))
    if value is None:
        return Refused(index, "garbled", "value is a number")
    if at is None:
        return Refused(index, "garbled", "at is a time with its offset (2026-03-01T10:00:00Z) or seconds since 1970")
    low, high = RANGES[quantity]
    if not low <= value <= high:
        return Refused(index, "out_of_range", f"{value:g}; {quantity} is {low:g} to {high:g}")
    if at > now + AHEAD_SECONDS:
        return Refused(index, "ahead", f"{at - now} s ahead of the clock here; set the device's clock")
    if at <= now - RAW_DAYS * 86400:
        return Refused(index, "late", f"older than {RAW_DAYS} days")
    return Sent(quantity, probe, at, value)


def _number(value: Any) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def _second(value: Any) -> int | None:
    if isinstance(value, str):
        try:
            moment = datetime.fromisoformat(value.upper())  # RFC 3339, 5.6: T and Z may be small letters
        except ValueError:
            return None
        return None if moment.tzinfo is None else int(moment.timestamp())
    number = _number(value)
    return None if number is None or abs(number) > SECONDS_AT_MOST else int(number)
