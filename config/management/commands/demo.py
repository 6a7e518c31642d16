"""`manage.py demo`: the invented demo mill, ready to be looked at."""

import os
import shutil
import sys
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from config.management.serving import ServingCommand

DEMO_DATA = Path(settings.BASE_DIR) / ".data" / "demo"


class Command(ServingCommand):
    help = "Make the invented demo mill in a folder of its own and serve it; passwords are new each time."

    def add_arguments(self, parser: Any) -> None:
        super().add_arguments(parser)
        parser.add_argument("--fresh", action="store_true", help="build the mill anew even where today's stands")
        parser.add_argument("--build-only", action="store_true", help="build it and end without serving")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.DATA_DIR != DEMO_DATA:
            self._again_in_demo_folder()
        if os.environ.get("DATABASE_URL"):
            raise CommandError("the demo keeps to its own SQLite file; unset DATABASE_URL and start it again")
        self._build_where_due(options["fresh"])
        people = self._new_passwords()
        if options["build_only"]:
            return
        self.stdout.write("\nSign in as:")
        for name, password in people:
            self.stdout.write(f"  {name:10} {password}")
        self.listen(options)

    def _again_in_demo_folder(self) -> None:
        """Start over with DRYSTACK_DATA set: the settings were read for one's own yard."""
        os.environ["DRYSTACK_DATA"] = str(DEMO_DATA)
        os.execv(sys.executable, [sys.executable, *sys.argv])  # noqa: S606 - our own interpreter and arguments

    def _build_where_due(self, fresh: bool) -> None:
        from config.demo.build import build

        self.make_ready(without_backup=True)  # all of it is invented, and built anew each day
        today = timezone.localdate()
        mark = DEMO_DATA / "built-on"  # written last: a build that was broken off is done again
        if not fresh and mark.exists() and mark.read_text() == today.isoformat():
            self.stdout.write("Today's demo mill stands already; --fresh builds it anew.")
            return
        self.stdout.write("Building the demo mill as of today; all of it is invented.")
        mark.unlink(missing_ok=True)
        shutil.rmtree(settings.MEDIA_ROOT, ignore_errors=True)
        call_command("flush", verbosity=0, interactive=False)
        call_command("load_species", verbosity=0)
        build(today, self.stdout.write)
        mark.write_text(today.isoformat())

    def _new_passwords(self) -> list[tuple[str, str]]:
        from config.demo import mill

        return mill.set_people(mill.read()["people"])
