"""A phone's outbox as the server sees it: forms sent under a key, some answers lost, some sent again."""

from typing import Any
from uuid import UUID, uuid4

from django.test import Client


def send(client: Client, path: str, fields: dict[str, Any], key: UUID | None = None, **headers: str) -> Any:
    """One form as the outbox sends it."""
    given = {"Idempotency-Key": str(key or uuid4()), "X-Drystack-Outbox": "1", **headers}
    return client.post(path, fields, headers=given)
