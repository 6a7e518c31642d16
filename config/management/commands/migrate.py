"""`manage.py migrate`: Django's own, one at a time, each migration whole or not at all (config/migrating.py), and after
a backup of what is there (config/backup/upgrading.py)."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.core.management.commands import migrate
from django.db import DEFAULT_DB_ALIAS, connections
from django.utils import timezone

from config.backup.restoring import is_empty
from config.backup.upgrading import NoBackupError, back_up_before, is_due
from config.migrating import WholeExecutor, alone

migrate.MigrationExecutor = WholeExecutor  # type: ignore[attr-defined]
WITHOUT_BACKUP = "change the tables without a backup first; then there is no way back"


class Command(migrate.Command):
    """As Django's, but for the backup."""

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--without-backup", action="store_true", help=WITHOUT_BACKUP)

    def handle(self, *args: Any, **options: Any) -> None:
        only_looks = options["plan"] or options["check_unapplied"]
        with alone(connections[options["database"]]):
            if options["database"] == DEFAULT_DB_ALIAS and not only_looks and not options["without_backup"]:
                self._back_up(to_one=bool(options["migration_name"]))
            super().handle(*args, **options)

    def _back_up(self, *, to_one: bool) -> None:
        """Where the tables of a yard are about to change: to this version, or to one that is named."""
        if not (is_due() or (to_one and not is_empty())):
            return
        self.stdout.write("Backing up before the upgrade ...")
        self.stdout.flush()
        try:
            path = back_up_before(at=timezone.now())
        except NoBackupError as error:
            raise CommandError(
                f"No backup could be made before the upgrade: {error}. Nothing was changed. Make room, or name another "
                "folder by DRYSTACK_BACKUPS; --without-backup goes on without, and then there is no way back."
            ) from error
        self.stdout.write(f"The backup from before the upgrade: {path}")
