"""Counting what is tried, for all processes together: each try of a key in a span raises its count by one."""

from datetime import datetime, timedelta
from hashlib import sha256

from django.db import transaction

from yard.models import Tries


@transaction.atomic
def count_try(*, of: str, span: timedelta, at: datetime) -> int:
    """One more try; how many there were in its span with this one. A span begins with the first try after the last."""
    key = sha256(of.encode()).hexdigest()
    tries, _new = Tries.objects.select_for_update().get_or_create(key=key, defaults={"ends_at": at + span})
    if tries.ends_at <= at:
        tries.count, tries.ends_at = 0, at + span
    tries.count += 1
    tries.save(update_fields=["count", "ends_at"])
    return tries.count


def forget_tries(*, at: datetime) -> int:
    """Drop the counts whose span has ended. Returns how many."""
    return Tries.objects.filter(ends_at__lte=at).delete()[0]
