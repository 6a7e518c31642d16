"""`manage.py serve`: one's own yard, for real."""

from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import CommandParser

from config.management.commands.migrate import WITHOUT_BACKUP
from config.management.serving import ServingCommand


class Command(ServingCommand):
    help = "Serve your own yard; the first page makes the owner, a place and a kiln."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--without-backup", action="store_true", help=WITHOUT_BACKUP)

    def handle(self, *args: Any, **options: Any) -> None:
        self.make_ready(without_backup=options["without_backup"])
        if not get_user_model().objects.exists():
            self.stdout.write("The yard is empty: its first page makes the owner, a place and a kiln.")
        self.listen(options)
