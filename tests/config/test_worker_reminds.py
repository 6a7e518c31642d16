"""The worker looks each minute whether somebody is to be reminded, and one failure does not end that."""

from typing import Any

import pytest
from django.db import DatabaseError

from config.management.commands import worker


class EndedError(Exception):
    """The test's own end of a loop that has none."""


@pytest.mark.django_db
def test_it_goes_on_after_a_failure_and_says_what_it_was(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    fates: list[Exception | None] = [DatabaseError("busy"), ValueError("a mistake of ours"), None]
    minutes: list[Any] = []

    def remind(at: Any) -> int:
        minutes.append(at)
        fate = fates[len(minutes) - 1]
        if fate:
            raise fate
        return 0

    def sleep(seconds: float) -> None:
        assert seconds == 60
        if len(minutes) == len(fates):
            raise EndedError

    monkeypatch.setattr(worker, "remind", remind)
    monkeypatch.setattr(worker.time, "sleep", sleep)
    with pytest.raises(EndedError):
        worker.remind_people()
    assert len(minutes) == 3
    assert "a mistake of ours" in caplog.text
    assert "busy" not in caplog.text
