"""Making a backup while the yard is in use: all of it as of one moment."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from config.backup.archive import KEYS, Writer
from config.backup.rows import kept_models, lines


def make_backup(path: Path, registry: Any = apps) -> None:
    """Write a backup to `path`, in place only when it is whole. What is written meanwhile is not in it. `registry` has
    the models of the database's tables, where those are not of this version."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with Writer(path) as writer, one_moment():
        missing = write_tables(writer, registry)
        for key in KEYS:
            if (settings.DATA_DIR / key).exists():
                with (settings.DATA_DIR / key).open("rb") as content:
                    writer.file(f"keys/{key}", content)
        writer.manifest(
            made_at=timezone.now().isoformat(),
            database=connection.vendor,
            migrations=applied_migrations(),
            missing_photos=missing,
        )


def write_tables(writer: Writer, registry: Any) -> list[str]:
    """Rows and photos of an app registry's models; returns the photos that are not there."""
    tables = kept_models(registry)
    for model in tables:
        writer.table(model._meta.label_lower, lines(model))
    return [name for name in _photos(tables) if not _took(writer, name)]


@contextmanager
def one_moment() -> Iterator[None]:
    """Reads see one state of the database, and no writer waits for them."""
    if connection.in_atomic_block:  # a test's transaction, which is such a state
        yield
    elif connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("BEGIN DEFERRED")  # atomic() would take the writer's lock
        try:
            yield
        finally:
            with connection.cursor() as cursor:
                cursor.execute("ROLLBACK")
    else:
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield


def _photos(tables: list[type[models.Model]]) -> Iterator[str]:
    """The names of all files that rows speak of."""
    for model in tables:
        for field in model._meta.concrete_fields:
            if isinstance(field, models.FileField):
                names = model._base_manager.exclude(**{field.attname: ""}).order_by("pk")
                yield from names.values_list(field.attname, flat=True).iterator(chunk_size=1000)


def _took(writer: Writer, name: str) -> bool:
    """False for a photo that was removed between the rows' moment and now, or is lost."""
    try:
        with default_storage.open(name) as content:
            writer.file(f"photos/{name}", content)
    except OSError:
        return False
    return True


def applied_migrations() -> list[list[str]]:
    """All that were applied, so that a newer version can take the rows up where they were left."""
    return sorted([app, name] for app, name in MigrationRecorder(connection).applied_migrations())


def summary(manifest: dict[str, Any]) -> tuple[int, int]:
    """How many rows and photos a backup holds."""
    rows = sum(table["rows"] for table in manifest["tables"].values())
    return rows, sum(name.startswith("photos/") for name in manifest["files"])
