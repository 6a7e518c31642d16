"""`manage.py migrate`: Django's own, each migration whole or not at all (config/migrating.py)."""

from django.core.management.commands import migrate

from config.migrating import WholeExecutor

migrate.MigrationExecutor = WholeExecutor  # type: ignore[attr-defined]


class Command(migrate.Command):
    """As Django's."""
