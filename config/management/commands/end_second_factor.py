"""`manage.py end_second_factor NAME`: for an owner who has lost phone and recovery codes, and is the only owner."""

from typing import Any

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError, CommandParser

from yard.actions.second_factor import end


class Command(BaseCommand):
    help = "End somebody's second factor: their password alone signs them in."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name")

    def handle(self, *_args: Any, **options: Any) -> None:
        person = get_user_model().objects.filter(username=options["name"]).first()
        if person is None:
            raise CommandError(f"nobody signs in as {options['name']!r}")
        end(person=person, by=None)
        self.stdout.write(f"{options['name']} signs in with the password alone now")
