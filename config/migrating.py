"""Migrations that a power cut can't tear: each and the note that it was applied are one transaction."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations import Migration
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.state import ProjectState

MIGRATING = 0x64727973
"""PostgreSQL's advisory lock that a migrating process holds; any number that nothing else here uses."""


class WholeExecutor(MigrationExecutor):
    """Django notes a migration that leaves SQL to its end (indexes, foreign keys) after its commit: killed in between,
    the next start would make its tables a second time and fail."""

    def apply_migration(
        self, state: ProjectState, migration: Migration, fake: bool = False, fake_initial: bool = False
    ) -> Any:
        if not migration.atomic:
            return super().apply_migration(state, migration, fake, fake_initial)
        with _whole(self.connection):
            return super().apply_migration(state, migration, fake, fake_initial)


@contextmanager
def _whole(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """One transaction; SQLite's foreign keys can be let go only before it begins."""
    enforced = connection.vendor == "sqlite" and connection.disable_constraint_checking()
    try:
        with transaction.atomic(using=connection.alias):
            yield
    finally:
        if enforced:
            connection.enable_constraint_checking()


@contextmanager
def alone(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Of several machines that start at once, one migrates and the others wait for it. SQLite's is one machine."""
    if connection.vendor != "postgresql":
        yield
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [MIGRATING])
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [MIGRATING])
