"""Restoring a backup into this database, whichever it is, and bringing it up to this version."""

import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from django.apps import apps
from django.conf import settings
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

from config.backup.archive import Archive, DamagedError
from config.backup.making import make_backup
from config.backup.rows import kept_models, lines, load, sum_of

Tell = Callable[[str], object]


class NotEmptyError(Exception):
    """The database has a yard in it already."""


def restore(path: Path, *, over: bool = False, keep_first: Path | None = None, tell: Tell = print) -> None:
    """Put the rows and photos of a backup in place of what is here.

    Raises DamagedError before anything is touched where the backup can't be relied on or is of a newer version, and
    NotEmptyError where there is a yard and not `over`; with `over`, a backup of it is made first at `keep_first`. All
    rows are written in one transaction, counted and compared with the backup's sums before it is committed. Broken off
    at any moment, it can be run again.
    """
    with Archive(path) as archive:
        tell("Checking the backup ...")
        archive.check()
        targets = _targets(archive.manifest["migrations"])
        if not is_empty():
            if not over:
                raise NotEmptyError
            if keep_first:
                tell(f"Keeping what is here: {keep_first} ...")
                make_backup(keep_first, models_of_the_tables())
        _drop_tables()
        tell("Rows ...")
        _write_rows(archive, targets)
        tell("Photos and keys ...")
        _write_files(archive)
    call_command("migrate", verbosity=0, without_backup=True)  # the rows' backup is what was restored


def is_empty() -> bool:
    """No table yet, or none of a yard's with a row in it. The book of species comes with the program."""
    names = {model._meta.db_table for model in kept_models(apps) if model._meta.label_lower != "yard.species"}
    present = names & set(connection.introspection.table_names())
    with connection.cursor() as cursor:  # by SQL: an older version's tables lack columns of today's models
        return not any(_has_rows(cursor, table) for table in present)


def _has_rows(cursor: Any, table: str) -> bool:
    cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(table)} LIMIT 1")  # noqa: S608  # nosec B608
    return cursor.fetchone() is not None


def _targets(applied: Iterable[list[str]]) -> list[tuple[str, str]]:
    """The last migration of each app that the rows were written under; DamagedError where one is not known here."""
    graph = MigrationExecutor(connection).loader.graph
    keys = {(app, name) for app, name in applied}
    unknown = sorted(f"{app}.{name}" for app, name in keys - set(graph.nodes) if app in {"yard", "kilnruns"})
    if unknown:
        raise DamagedError(f"it comes from a newer version ({', '.join(unknown)}); update first, then restore")
    return last_of_each_app(graph, keys)


def last_of_each_app(graph: Any, applied: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Of the applied migrations that are known here, those that no other of their app follows."""
    known = set(applied) & set(graph.nodes)
    return sorted(key for key in known if not _followers(graph, key) & known)


def models_of_the_tables() -> Any:
    """The models as of the migrations that were applied: today's have columns that an older version's tables lack."""
    loader = MigrationExecutor(connection).loader
    applied = MigrationRecorder(connection).applied_migrations()
    return loader.project_state(last_of_each_app(loader.graph, applied)).apps


def _followers(graph: Any, key: tuple[str, str]) -> set[tuple[str, str]]:
    """The next migrations of the same app."""
    return {child.key for child in graph.node_map[key].children if child.key[0] == key[0]}


def _drop_tables() -> None:
    """All tables of ours, a later version's too: the rows come under the migrations that they were written under."""
    present = set(connection.introspection.table_names())
    ours = {model._meta.db_table for model in apps.get_models(include_auto_created=True)} | {"django_migrations"}
    ours |= {name for name in present if name.startswith(("yard_", "kilnruns_", "otp_"))}
    if connection.vendor == "sqlite":
        ours = present
    with connection.constraint_checks_disabled(), connection.cursor() as cursor:
        for table in sorted(present & ours):
            cascade = "" if connection.vendor == "sqlite" else " CASCADE"
            cursor.execute(f"DROP TABLE IF EXISTS {connection.ops.quote_name(table)}{cascade}")


def _write_rows(archive: Archive, targets: list[tuple[str, str]]) -> None:
    executor = MigrationExecutor(connection)
    executor.migrate(targets)
    registry = executor.loader.project_state(targets).apps
    tables = kept_models(registry)
    with transaction.atomic():
        for model in tables:  # what migrations themselves have written
            model._base_manager.all()._raw_delete(using=connection.alias)
        for model in tables:
            if model._meta.label_lower in archive.manifest["tables"]:
                load(model, archive.lines(model._meta.label_lower))
        for statement in connection.ops.sequence_reset_sql(no_style(), tables):
            with connection.cursor() as cursor:
                cursor.execute(statement)
        connection.check_constraints()
        compare(archive.manifest, tables)


def compare(manifest: dict[str, Any], tables: Iterable[type[models.Model]]) -> None:
    """Raise DamagedError unless the database holds the rows of the manifest, each exactly, and no others."""
    for model in tables:
        label = model._meta.label_lower
        told = manifest["tables"].get(label, {"rows": 0, "checksum": f"{0:064x}"})
        found = sum_of(lines(model))
        if (found.rows, found.checksum) != (told["rows"], told["checksum"]):
            raise DamagedError(f"{label}: {found.rows} rows were written, {told['rows']} kept, or they differ")


def _write_files(archive: Archive) -> None:
    for name in archive.manifest["files"]:
        folder, _slash, rest = name.partition("/")
        with archive.open(name) as content:
            if folder == "keys":
                with (settings.DATA_DIR / rest).open("wb") as key:
                    shutil.copyfileobj(content, key)
                (settings.DATA_DIR / rest).chmod(0o600)
            else:
                _write_photo(rest, content)


def _write_photo(name: str, content: Any) -> None:
    """Under its own name, whatever stood there."""
    if default_storage.exists(name):
        default_storage.delete(name)
    kept = default_storage.save(name, content)
    if kept != name:
        raise DamagedError(f"the photo {name} could not be kept under its name")
