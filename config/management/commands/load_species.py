"""`manage.py load_species`: the packaged species into the database; rows changed by an owner are left alone."""

from typing import Any

from django.core.management.base import BaseCommand

from yard.actions.species import load_species


class Command(BaseCommand):
    help = "Load or refresh the packaged species table."

    def handle(self, *args: Any, **options: Any) -> None:
        count = load_species()
        if options["verbosity"]:
            self.stdout.write(f"{count} species loaded or refreshed.")
