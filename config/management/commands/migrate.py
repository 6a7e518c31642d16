"""`manage.py migrate`: Django's own, one at a time, each migration whole or not at all; see config/migrating.py."""

from typing import Any

from django.core.management.commands import migrate
from django.db import connections

from config.migrating import WholeExecutor, alone

migrate.MigrationExecutor = WholeExecutor  # type: ignore[attr-defined]


class Command(migrate.Command):
    """As Django's."""

    def handle(self, *args: Any, **options: Any) -> None:
        with alone(connections[options["database"]]):
            super().handle(*args, **options)
