"""A backup before the tables are changed, as the way back: with the migrations that the rows were written under."""

from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from config.backup.archive import Archive, DamagedError
from config.backup.keeping import backups, check, path_before_upgrade
from config.backup.making import make_backup
from config.backup.restoring import is_empty, models_of_the_tables


class NoBackupError(Exception):
    """None could be made, or it can't be relied on; says why."""


def is_due() -> bool:
    """Whether there is a yard whose tables this version would change."""
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes())) and not is_empty()


def back_up_before(*, at: datetime) -> Path:
    """Make one, read it to its end, and say where it lies. An equal one that is there already serves: a server that is
    started again and again because its upgrade fails must not fill the disk. Raises NoBackupError."""
    path = path_before_upgrade(at)
    try:
        settings.BACKUPS.mkdir(parents=True, exist_ok=True, mode=0o700)
        make_backup(path, models_of_the_tables())
        path.chmod(0o600)
        found = check(path, at=at)
        if found.damage:
            raise DamagedError(found.damage)
        with Archive(path) as archive:
            made = _content(archive)
        return _equal_one(made, path) or path
    except DamagedError as error:
        path.unlink(missing_ok=True)
        path.with_suffix(".json").unlink(missing_ok=True)
        raise NoBackupError(f"{path} can't be relied on: {error}") from error
    except (OSError, DatabaseError) as error:
        raise NoBackupError(str(error)) from error


def _content(archive: Archive) -> list[Any]:
    return [archive.manifest[name] for name in ("migrations", "tables", "files")]


def _equal_one(content: list[Any], new: Path) -> Path | None:
    """An earlier one of the same content; the new one is then let go."""
    for one in backups():
        if one.is_before_upgrade and one.path != new:
            try:
                with Archive(one.path) as archive:
                    is_equal = _content(archive) == content
                    if is_equal:
                        archive.check()
            except DamagedError:
                continue
            if is_equal:
                new.with_suffix(".json").unlink(missing_ok=True)
                new.unlink()
                return one.path
    return None
