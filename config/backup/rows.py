"""Rows as lines of JSON that mean the same in each database: which tables, how a row is written, read and counted."""

import hashlib
import json
from collections.abc import Iterable, Iterator
from typing import Any

from django.db import models

# Made anew by the yard itself, or of no use elsewhere: sign-ins in hand, tasks in the queue, counts of wrong passwords;
# sheets sent in and not yet taken, counts of tries.
LEFT_OUT_APPS = {"sessions", "contenttypes", "axes", "django_tasks_database"}
LEFT_OUT = {"auth.permission", "auth.group_permissions", "auth.user_user_permissions", "yard.sentsheet"}
LEFT_OUT |= {"yard.tries", "yard.signin"}
CHUNK = 1000


def kept_models(registry: Any) -> list[type[models.Model]]:
    """The models whose rows a backup holds, of an app registry: today's, or that of an earlier state."""
    found = registry.get_models(include_auto_created=True)
    return sorted((one for one in found if _is_kept(one)), key=lambda one: one._meta.label_lower)


def _is_kept(model: type[models.Model]) -> bool:
    meta = model._meta
    left_out = meta.app_label in LEFT_OUT_APPS or meta.label_lower in LEFT_OUT
    return meta.managed and not meta.proxy and not left_out


def lines(model: type[models.Model]) -> Iterator[bytes]:
    """Each row of a table as a line, by primary key; exact to the last bit of a figure."""
    for row in model._base_manager.order_by("pk").iterator(chunk_size=CHUNK):
        yield line_of(row)


def line_of(row: models.Model) -> bytes:
    values = {field.attname: _written(field, row) for field in row._meta.concrete_fields}
    return json.dumps(values, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode() + b"\n"


def _written(field: models.Field, row: models.Model) -> Any:
    value = field.value_from_object(row)
    if value is None or isinstance(field, models.JSONField):
        return value
    return value if isinstance(value, bool | int | float | str) else field.value_to_string(row)


def read(model: type[models.Model], line: bytes) -> models.Model:
    """The row that a line holds, not saved. Raises ValueError or ValidationError where it holds none."""
    values = json.loads(line)
    row = model()
    for field in model._meta.concrete_fields:
        value = values[field.attname]
        is_plain = value is None or isinstance(field, models.JSONField)
        setattr(row, field.attname, value if is_plain else field.to_python(value))
    return row


def load(model: type[models.Model], given: Iterable[bytes]) -> int:
    """Write rows as they were, also the moments that a field would set by itself; returns how many."""
    for field in model._meta.local_fields:
        if isinstance(field, models.DateTimeField | models.DateField):
            field.auto_now = field.auto_now_add = False
    count, chunk = 0, []
    for line in given:
        chunk.append(read(model, line))
        if len(chunk) == CHUNK:
            count += _insert(model, chunk)
            chunk = []
    return count + _insert(model, chunk)


def _insert(model: type[models.Model], chunk: list[models.Model]) -> int:
    model._base_manager.bulk_create(chunk, batch_size=CHUNK)
    return len(chunk)


class Sum:
    """Count and checksum of a table's rows, whatever their order: two databases may sort text in two ways."""

    def __init__(self) -> None:
        self.rows, self._total = 0, 0

    def add(self, line: bytes) -> None:
        self.rows += 1
        self._total = (self._total + int.from_bytes(hashlib.sha256(line).digest(), "big")) % 2**256

    @property
    def checksum(self) -> str:
        return f"{self._total:064x}"


def sum_of(given: Iterable[bytes]) -> Sum:
    found = Sum()
    for line in given:
        found.add(line)
    return found
