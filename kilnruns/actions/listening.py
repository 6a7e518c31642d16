"""What comes by MQTT: many small messages, kept some at a time.

Topics: drystack/KEY/QUANTITY or drystack/KEY/QUANTITY/PROBE with a number or {"value": ..., "at": ...}, and
drystack/KEY/readings with a whole message as by HTTP. KEY is what stands before the point in a device's token.
"""

import json
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from kilnruns.actions import sensing
from kilnruns.models import SensorDevice
from kilnruns.sensing.message import MOST_READINGS, MessageError, rows

ROOT = "drystack"


def keep(*, messages: Iterable[tuple[str, bytes]], at: datetime) -> int:
    """Keep what topics and payloads say; what can't be read is counted at its device. Returns how many were kept.

    Messages for unknown devices, and for those that are not to be heard by MQTT, are passed over.
    """
    by_key: dict[str, list[tuple[list[str], bytes]]] = {}
    for topic, payload in messages:
        root, _, rest = topic.partition("/")
        key, *path = rest.split("/")
        if root == ROOT and path and key.isascii() and key.isalnum():
            by_key.setdefault(key, []).append((path, payload))
    devices = SensorDevice.objects.filter(key__in=by_key, by_mqtt=True, shut_out_at=None)
    return sum(_keep(device, by_key[device.key], at) for device in devices)


def _keep(device: SensorDevice, messages: list[tuple[list[str], bytes]], at: datetime) -> int:
    found: list[Any] = []
    for path, payload in messages:
        try:
            found += rows(payload) if path == ["readings"] else [_row(path, payload)]
        except MessageError:
            sensing.count_garbled(device=device)
    kept = 0
    for first in range(0, len(found), MOST_READINGS):
        kept += sensing.take(device=device, rows=found[first : first + MOST_READINGS], at=at).kept
    return kept


def _row(path: list[str], payload: bytes) -> dict[str, Any]:
    """A message of one value; what is wrong with the value itself is told by `read`."""
    if len(path) > 2 or len(payload) > 1000:
        raise MessageError("the topic is drystack/KEY/QUANTITY/PROBE")
    try:
        value = json.loads(payload)
    except ValueError as error:
        raise MessageError("not a number") from error
    row = value if isinstance(value, dict) else {"value": value}
    named = {"quantity": path[0], "probe": path[1] if len(path) > 1 else ""}
    return {key: row[key] for key in ("value", "at") if key in row} | named
