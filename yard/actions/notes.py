"""Notes: a dated line in a stack's history."""

from datetime import datetime
from typing import Any

from yard.models import Event, Stack, log


def add_note(*, stack: Stack, text: str, by: Any, at: datetime) -> None:
    """Append a note (details: text). What was noted before stays."""
    log([stack], Event.Kind.NOTED, at=at, by=by, text=text)
