"""What the worker does again and again goes on after a failure, which is told."""

import threading
from typing import Any

import pytest
from django.db import DatabaseError

from config.management.commands import worker


class EndedError(BaseException):
    """The test's own end of a loop that has none."""


@pytest.mark.django_db
def test_it_goes_on_after_a_failure_and_says_what_it_was(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    fates: list[Exception | None] = [DatabaseError("busy"), ValueError("a mistake of ours"), None]
    turns: list[Any] = []

    def remind(at: Any) -> int:
        turns.append(at)
        fate = fates[len(turns) - 1]
        if fate:
            raise fate
        return 0

    def sleep(seconds: float) -> None:
        assert seconds == 60
        if len(turns) == len(fates):
            raise EndedError

    class Here(threading.Thread):
        """A thread that runs where it is started, so that the test sees its end."""

        def start(self) -> None:
            self.run()

    monkeypatch.setattr(worker.time, "sleep", sleep)
    monkeypatch.setattr(worker.threading, "Thread", Here)
    with pytest.raises(EndedError):
        worker.repeated(remind, 60)
    assert len(turns) == 3
    assert "a mistake of ours" in caplog.text and "remind failed" in caplog.text
    assert "busy" not in caplog.text
