"""`manage.py vendor`: fetch what the browser gets that others wrote, pinned by package-lock.json."""

from typing import Any

from django.core.management.base import BaseCommand

from config.vendoring import VendorError, vendor


class Command(BaseCommand):
    help = "Copy the tag decoder for the camera into static/vendor; does nothing where it is up to date."
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            fetched = vendor()
        except VendorError as error:
            self.stderr.write(f"No camera scanning in the page ({error}); photo and typed code work.")
            return
        if fetched or options["verbosity"] > 1:
            self.stdout.write("The decoder for the camera is in static/vendor.")
