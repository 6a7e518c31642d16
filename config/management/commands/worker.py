"""`manage.py worker`: makes the plans that are asked for, on this machine or another with the same database."""

import logging
import os
import socket
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, close_old_connections, connection
from django.utils import timezone

from config.backup.keeping import daily
from config.mqtt import Listener
from config.table_statistics import analyse
from kilnruns.actions.calendar import forget_old
from kilnruns.actions.plannings import hand_back, take_up_lost
from kilnruns.actions.pushing import remind
from kilnruns.actions.reckonings import take_up_lost_costs
from kilnruns.actions.sensing import thin
from kilnruns.actions.working import WORKER_NAME
from yard.actions.tries import forget_tries

log = logging.getLogger(__name__)
LOOK_SECONDS = 5.0
KEPT_DAYS = 14
NICENESS = 5  # pages come first
ANALYSE_EVERY_SECONDS = 24 * 3600.0
TIDY_EVERY_SECONDS = 3600.0
REMIND_EVERY_SECONDS = 60.0
BACK_UP_LOOK_SECONDS = 600.0


class Command(BaseCommand):
    help = "Make the plans that are asked for. As many of these as you like may run, on machines whose clocks agree."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--with-parent", action="store_true", help="end when standard input ends")

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.TASKS_RUN == "inline":
            raise CommandError("DRYSTACK_TASKS is inline: plans are made in the request, and no worker is needed")
        name = os.environ.setdefault(WORKER_NAME, f"{socket.gethostname()[:24]}-{os.getpid()}")
        if hasattr(os, "nice"):
            os.nice(NICENESS)
        call_command("prune_db_task_results", min_age_days=KEPT_DAYS, verbosity=0)
        repeated(take_up_lost, LOOK_SECONDS)
        repeated(take_up_lost_costs, LOOK_SECONDS)
        repeated(remind, REMIND_EVERY_SECONDS)
        repeated(analyse, ANALYSE_EVERY_SECONDS)
        repeated(thin, TIDY_EVERY_SECONDS)
        repeated(forget_old, TIDY_EVERY_SECONDS)
        repeated(forget_tries, TIDY_EVERY_SECONDS)
        repeated(daily, BACK_UP_LOOK_SECONDS)
        if options["with_parent"]:
            threading.Thread(target=end_with_parent, args=[name], daemon=True).start()
            if settings.MQTT_URL:  # elsewhere `manage.py listen`: two listeners of one name would shut each other out
                threading.Thread(target=Listener(settings.MQTT_URL).run, daemon=True).start()
        else:
            self.stdout.write("Waiting for plans to make. Stop it with Ctrl+C.")
        call_command("db_worker", worker_id=name, interval=1, reload=False, startup_delay=False, verbosity=0)


def repeated(act: Callable[..., Any], seconds: float) -> None:
    """In a thread of its own, every so many seconds, as long as the process lives."""

    def run() -> None:
        while True:
            try:
                close_old_connections()
                act(at=timezone.now())
            except DatabaseError:
                pass  # busy or away just now: the next time will do
            except Exception:
                log.exception("%s failed", act.__name__)
            time.sleep(seconds)

    threading.Thread(target=run, daemon=True).start()


def end_with_parent(name: str) -> None:
    """Wait until the server has closed our standard input or is gone; leave what is in work to the next worker."""
    sys.stdin.buffer.read()
    with suppress(DatabaseError):
        hand_back(workers=name)
        connection.close()
    os._exit(0)
