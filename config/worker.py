"""The worker that serving brings along: a process of its own, started again when it dies, ended with the server."""

import os
import subprocess
import sys
import threading
from contextlib import suppress
from types import TracebackType
from uuid import uuid4

from django.conf import settings
from django.db import DatabaseError, connection

from kilnruns.actions.plannings import hand_back
from kilnruns.actions.working import WORKER_NAME

LONGEST_PAUSE_SECONDS = 30.0
ENDING_SECONDS = 5.0


class EmbeddedWorker:
    """Runs `manage.py worker --with-parent` as long as the `with` block lasts.

    A process, since planning keeps a processor busy that pages are answered from. It ends by itself when its standard
    input does, even where this process is killed. Another server on the same database has another: each planning is
    claimed by one.
    """

    def __init__(self) -> None:
        self.name = f"embedded-{os.getpid()}-{uuid4().hex[:8]}"
        self.process: subprocess.Popen[bytes] | None = None
        self._ended = threading.Event()
        self._minder = threading.Thread(target=self._mind, name="worker", daemon=True)

    def __enter__(self) -> "EmbeddedWorker":
        self._minder.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._ended.set()
        self._end()
        self._minder.join(2 * ENDING_SECONDS)

    def _mind(self) -> None:
        pause = 1.0
        try:
            while not self._ended.is_set():
                self.process = self._start()
                if self._ended.is_set():
                    self._end()
                self.process.wait()
                # What it had in work is free at once, and not only when it has been silent for long enough.
                with suppress(DatabaseError):
                    hand_back(workers=self.name)
                self._ended.wait(pause)
                pause = min(2 * pause, LONGEST_PAUSE_SECONDS)
        finally:
            connection.close()

    def _start(self) -> "subprocess.Popen[bytes]":
        command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "worker", "--with-parent"]
        # Its own session: Ctrl+C is for the server, which then ends it.
        return subprocess.Popen(
            command, stdin=subprocess.PIPE, env=os.environ | {WORKER_NAME: self.name}, start_new_session=True
        )

    def _end(self) -> None:
        process = self.process
        if process is None or process.stdin is None:
            return
        with suppress(OSError):
            process.stdin.close()
        try:
            process.wait(ENDING_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()
