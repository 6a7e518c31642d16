"""Very many rows at once: COPY on PostgreSQL, prepared inserts on SQLite. No signals, no `save`."""

import json
from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime
from typing import Any

from django.core.management.color import no_style
from django.db import connection, models
from django.utils import timezone

from config.table_statistics import analyse

CHUNK = 10_000


def fill(model: type[models.Model], names: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Rows of a table, by the columns named; the others have their defaults. What JSON holds comes as `written`."""
    fields = model._meta.concrete_fields
    rest = [field for field in fields if field.attname not in names]
    held = {field.attname: _default(field) for field in rest if not field.primary_key}
    columns = [model._meta.get_field(name).column for name in (*names, *held)]
    whole = ((*row, *held.values()) for row in rows)
    table = connection.ops.quote_name(model._meta.db_table)
    listed = ", ".join(connection.ops.quote_name(one) for one in columns)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({listed}) FROM STDIN") as copy:
                for row in whole:
                    copy.write_row(row)
        else:
            marks = ", ".join("?" * len(columns))
            cursor.cursor.connection.executemany(
                f"INSERT INTO {table} ({listed}) VALUES ({marks})",  # noqa: S608  our own names
                _plain(whole),
            )


def settle(tables: Sequence[type[models.Model]]) -> None:
    """After keys were given: the next ones follow them, and the planner knows the tables, as a worker has it know."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables)):
            cursor.execute(statement)
        if connection.vendor == "postgresql":
            cursor.execute("ANALYZE")  # as autovacuum would within a minute
    analyse(at=timezone.now())


def written(value: Any) -> str:
    return json.dumps(value, separators=(",", ":"))


def _default(field: Any) -> Any:
    if getattr(field, "auto_now", False) or getattr(field, "auto_now_add", False):
        return timezone.now()
    value = field.get_default()
    return written(value) if isinstance(field, models.JSONField) else value


def _plain(rows: Iterable[Sequence[Any]]) -> Iterator[list[Any]]:
    """As SQLite keeps them."""
    for row in rows:
        yield [_text(value) if isinstance(value, date) else value for value in row]


def _text(value: date) -> str:
    if isinstance(value, datetime):
        return str(value.astimezone(UTC).replace(tzinfo=None))
    return value.isoformat()
