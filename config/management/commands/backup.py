"""`manage.py backup`: a backup now, or a look at one."""

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from config.backup.archive import Archive, DamagedError
from config.backup.keeping import back_up
from config.backup.making import make_backup, summary


class Command(BaseCommand):
    help = "Back up all rows and photos into one file while the yard is in use."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", type=Path, metavar="FILE", help="into this file, and not the folder of backups")
        parser.add_argument("--check", type=Path, metavar="FILE", help="make none: read this one to its end")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            path = options["check"] or options["to"]
            if path is None:
                path = back_up(at=timezone.now()).path
            elif options["to"]:
                make_backup(path)
            with Archive(path) as archive:
                archive.check()
                rows, photos = summary(archive.manifest)
        except DamagedError as error:
            raise CommandError(f"Not a good backup: {error}") from error
        except OSError as error:
            raise CommandError(f"The backup can't be written: {error}") from error
        self.stdout.write(f"{path}: {rows} rows, {photos} photos, read to its end.")
        missing = archive.manifest["missing_photos"]
        if missing:
            self.stderr.write(f"{len(missing)} photos were not on the disk: {', '.join(missing[:5])}")
