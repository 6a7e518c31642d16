"""Needs: wanted, met, or wanted again."""

from datetime import datetime
from typing import Any

from yard.models import Need


def meet(*, need: Need, by: Any, at: datetime) -> Need:
    """The wood was handed over, or is no longer wanted."""
    need.met_at = need.met_at or at
    need.save(update_fields=["met_at"])
    return need


def reopen(*, need: Need, by: Any) -> Need:
    """It was said to be met by mistake."""
    need.met_at = None
    need.save(update_fields=["met_at"])
    return need
