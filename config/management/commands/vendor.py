"""`manage.py vendor`: fetch what the browser gets that others wrote, pinned by package-lock.json."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.vendoring import VendorError, vendor


class Command(BaseCommand):
    help = "Copy the tag decoder for the camera into static/vendor; does nothing where it is up to date."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--strict", action="store_true", help="fail where it can't be fetched; for an image")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            fetched = vendor()
        except VendorError as error:
            words = f"No camera scanning in the page ({error}); photo and typed code work."
            if options["strict"]:
                raise CommandError(words) from error
            self.stderr.write(words)
            return
        if fetched or options["verbosity"] > 1:
            self.stdout.write("The decoder for the camera is in static/vendor.")
