"""Migrations that a power cut can't tear: each and the note that it was applied are one transaction."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations import Migration
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.db.migrations.state import ProjectState


class WholeExecutor(MigrationExecutor):
    """Django notes a migration that leaves SQL to its end (indexes, foreign keys) after its commit: killed in between,
    the next start would make its tables a second time and fail. Of two machines that migrate at once, the second waits
    for the first one's migration, and then leaves it out."""

    def apply_migration(
        self, state: ProjectState, migration: Migration, fake: bool = False, fake_initial: bool = False
    ) -> Any:
        if not migration.atomic:
            return super().apply_migration(state, migration, fake, fake_initial)
        self.recorder.ensure_schema()
        with _alone(self.connection):
            if (migration.app_label, migration.name) in self.recorder.applied_migrations():
                return migration.mutate_state(state, preserve=False)
            return super().apply_migration(state, migration, fake, fake_initial)


@contextmanager
def _alone(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """One transaction in which no other process migrates. SQLite's foreign keys can be let go only before it begins,
    and its transactions are immediate (settings), so that it has the lock from the start."""
    enforced = connection.vendor == "sqlite" and connection.disable_constraint_checking()
    try:
        with transaction.atomic(using=connection.alias):
            if connection.vendor == "postgresql":
                table = connection.ops.quote_name(MigrationRecorder.Migration._meta.db_table)
                with connection.cursor() as cursor:
                    cursor.execute(f"LOCK TABLE {table} IN EXCLUSIVE MODE")
            yield
    finally:
        if enforced:
            connection.enable_constraint_checking()
