"""manage.py thin: old sensor readings become means."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from kilnruns.actions.sensing import thin


class Command(BaseCommand):
    help = "Turns sensor readings of more than three days ago into means over ten minutes, later over an hour."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"{thin(at=timezone.now())} rows thinned")
