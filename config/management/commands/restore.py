"""`manage.py restore FILE`: a backup into this machine's database and photo folder."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from config.backup.archive import DamagedError
from config.backup.keeping import new_path
from config.backup.restoring import NotEmptyError, restore


class Command(BaseCommand):
    help = "Restore a backup, from SQLite or PostgreSQL, into the database that DATABASE_URL or DRYSTACK_DATA names."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--over", action="store_true", help="replace the yard that is here, kept first")

    def handle(self, *args: Any, **options: Any) -> None:
        keep = new_path(timezone.now())
        try:
            restore(options["file"], over=options["over"], keep_first=keep, tell=self.stdout.write)
        except DamagedError as error:
            raise CommandError(f"Nothing was restored: {error}") from error
        except NotEmptyError as error:
            raise CommandError("There is a yard here already. Stop the server, then add --over.") from error
        self.stdout.write("Restored; each table's rows were counted and compared with the backup's. Start the server.")
