"""What a person wishes to be reminded by: the calendar's address, and the devices that take web push."""

import re
import secrets
from datetime import datetime
from hashlib import sha256
from typing import Any

from django.db import transaction

from kilnruns.models import PushDevice, Reminders
from yard.actions.language import settle

TOKEN_BYTES = 24
TOKEN = re.compile(r"[A-Za-z0-9_-]{32}", re.ASCII)
MOST_DEVICES = 10
"""Of one person; the oldest makes room."""


def _hashed(token: str) -> str:
    """A token is random and long: one round suffices."""
    return sha256(token.encode()).hexdigest()


@transaction.atomic
def make_calendar(*, by: Any, at: datetime) -> str:
    """A token for the person's calendar, told this once; the former address ends with it."""
    settle(by=by)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    Reminders.objects.get_or_create(person=by)
    Reminders.objects.filter(person=by).update(calendar_hash=_hashed(token), calendar_made_at=at)
    return token


def end_calendar(*, by: Any) -> None:
    Reminders.objects.filter(person=by).update(calendar_hash="", calendar_made_at=None)


def calendar_of(token: str) -> Reminders | None:
    """Whose calendar it is, unless that person was shut out. No database is asked for what can't be a token."""
    if not TOKEN.fullmatch(token):
        return None
    found = Reminders.objects.filter(calendar_hash=_hashed(token), person__is_active=True)
    return found.select_related("person__person").first()


@transaction.atomic
def set_hours(*, by: Any, hour: int, alarms: bool) -> None:
    Reminders.objects.update_or_create(person=by, defaults={"hour": hour, "alarms": alarms})


@transaction.atomic
def add_device(*, by: Any, at: datetime, endpoint: str, **given: Any) -> PushDevice:
    """Remind this browser from now on, and nobody else by it. `given` is p256dh, auth, site, is_phone.

    Today's reminder comes on the next day where the hour is past: who has just asked for it has Today before them.
    """
    settle(by=by)
    Reminders.objects.get_or_create(person=by)
    PushDevice.objects.filter(endpoint=endpoint).delete()
    kept = by.push_devices.order_by("-made_at", "-pk").values_list("pk", flat=True)[: MOST_DEVICES - 1]
    by.push_devices.exclude(pk__in=list(kept)).delete()
    return PushDevice.objects.create(person=by, made_at=at, endpoint=endpoint, **given)


def end_device(*, pk: int, by: Any) -> None:
    by.push_devices.filter(pk=pk).delete()


SESSION = "push_device"
"""Where a session keeps which device it reminds."""


def end_of_session(sender: Any, request: Any, **_: Any) -> None:
    """Signing out on a device ends its reminders: the next who signs in there may be another."""
    pk = request.session.get(SESSION)
    if pk:
        PushDevice.objects.filter(pk=pk).delete()
