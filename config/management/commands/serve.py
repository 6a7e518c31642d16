"""`manage.py serve`: one's own yard, for real."""

from typing import Any

from django.contrib.auth import get_user_model

from config.management.serving import ServingCommand


class Command(ServingCommand):
    help = "Serve your own yard; the first page makes the owner, a place and a kiln."

    def handle(self, *args: Any, **options: Any) -> None:
        self.make_ready()
        if not get_user_model().objects.exists():
            self.stdout.write("The yard is empty: its first page makes the owner, a place and a kiln.")
        self.listen(options)
