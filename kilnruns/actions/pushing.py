"""Web push: once a day what is due, at the hour that its person chose, and at once what needs somebody now."""

import json
import logging
import time
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from urllib.parse import urlsplit

from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kilnruns.models import PushDevice
from kilnruns.reminding.due import Due, dues
from kilnruns.reminding.endpoint import EndpointError, post
from kilnruns.reminding.now import act_now
from kilnruns.reminding.vapid import private_pem
from kilnruns.reminding.wording import Told, told
from yard.actions.language import told_in

log = logging.getLogger(__name__)
LATE_HOURS = 6
"""So long after its hour a daily reminder is still of use, where no worker ran."""
AGAIN_AFTER = timedelta(days=1)
"""What needs somebody now is told again when it comes back after so long, not each time that it flickers."""
LONGEST_REST = timedelta(hours=1)
LONGEST_WAIT = timedelta(days=1)
"""Of what a push service asks us to wait."""
GONE = {404, 410}
MOST_CHARACTERS = 800
"""Of a text: a push carries 3993 bytes at most (RFC 8291, 4)."""
SHOWN = 6


def remind(*, at: datetime) -> int:
    """Send what is to be sent at this moment; each device gets each thing once, whatever workers there are.

    Returns how many pushes were taken by their services.
    """
    devices = list(PushDevice.objects.awake(at).select_related("person__reminders", "person__person"))
    if not devices:
        return 0
    on, urgent = timezone.localdate(at), act_now(at)
    today: list[Due] | None = None
    sent = 0
    for device in devices:
        is_daily, fresh = _claim(device.pk, at, on, urgent)
        if is_daily and today is None:
            today = [one for one in dues(on) if one.is_due(on)]
        with told_in(device.person):
            daily = _daily(today) if is_daily and today else None
            messages = [*([daily] if daily else []), *map(_urgent, told(fresh))]
        for message in messages:
            if device.pk:  # a device that is gone takes nothing more
                sent += _send(device, message, at, is_daily=message is daily)
    return sent


def try_out(*, device: PushDevice, at: datetime) -> bool:
    """One push now, so that its person sees that it works. False where it did not get through."""
    text = _("So a reminder looks here. Tap it: Today opens.")
    return _send(device, {"title": _("Drystack reminds you here"), "body": text, "tag": "try"}, at, is_daily=False)


def _is_time(device: PushDevice, at: datetime) -> bool:
    """Inside the hours of its daily reminder, and made before they began."""
    hour = device.person.reminders.hour
    begin = timezone.localtime(at).replace(hour=hour, minute=0, second=0, microsecond=0)
    return begin <= at < begin + timedelta(hours=LATE_HOURS) and device.made_at < begin


@transaction.atomic
def _claim(pk: int, at: datetime, on: date, urgent: Sequence[Due]) -> tuple[bool, list[Due]]:
    """Whether this worker is the one that sends the daily reminder, and what it sends at once."""
    device = (
        PushDevice.objects.select_for_update(of=("self",)).select_related("person__reminders").filter(pk=pk).first()
    )
    if device is None:
        return False, []
    is_daily = device.reminded_on != on and _is_time(device, at)
    fresh = [one for one in urgent if one.key not in device.told]
    current = {one.key for one in urgent}
    long_ago = (at - AGAIN_AFTER).isoformat()
    told_now = {key: when for key, when in device.told.items() if key in current or when > long_ago}
    told_now |= {one.key: at.isoformat() for one in fresh}
    if is_daily or told_now != device.told:
        device.told = told_now
        device.reminded_on = on if is_daily else device.reminded_on
        device.save(update_fields=["told", "reminded_on"])
    return is_daily, fresh


def _daily(today: Sequence[Due]) -> dict[str, str]:
    """The day's reminder of what is due, one thing or more."""
    things = told(today)
    if len(things) == 1:
        return _message(things[0].title, things[0].text, "today")
    title = ngettext("%(n)d thing is due today", "%(n)d things are due today", len(things)) % {"n": len(things)}
    lines = [one.title for one in things[:SHOWN]]
    if len(things) > SHOWN:
        lines.append(_("and %(n)d more") % {"n": len(things) - SHOWN})
    return _message(title, "\n".join(lines), "today")


def _urgent(one: Told) -> dict[str, str]:
    return _message(one.title, one.text, one.due.key)


def _message(title: str, text: str, tag: str) -> dict[str, str]:
    """What the service worker shows; of two with one tag the later stands."""
    return {"title": title[:120], "body": text[:MOST_CHARACTERS], "tag": tag}


def _send(device: PushDevice, message: dict[str, str], at: datetime, is_daily: bool) -> bool:
    """One push. A device that is gone is dropped; one that can't be reached rests, and what it missed is free again."""
    try:
        status, wait = post(device.endpoint, *packed(device, message, is_daily=is_daily))
    except EndpointError:
        status, wait = 410, ""
    except ConnectionError as error:
        status, wait = 0, ""
        log.warning("A push service does not answer: %s", error)
    if status in GONE:
        device.delete()
        return False
    if 200 <= status < 300:
        PushDevice.objects.filter(pk=device.pk).update(failed=0, rest_until=None)
        return True
    _rest(device.pk, at, wait, None if is_daily else message["tag"])
    return False


def packed(device: PushDevice, message: dict[str, str], is_daily: bool) -> tuple[bytes, dict[str, str]]:
    """Encrypted for the device alone (RFC 8291), and signed as this yard's (RFC 8292)."""
    from py_vapid import Vapid  # asked for here, since what they bring along is heavy for pages that send nothing
    from pywebpush import WebPusher

    keys = {"p256dh": device.p256dh, "auth": device.auth}
    body = WebPusher({"endpoint": device.endpoint, "keys": keys}).encode(
        json.dumps(message, ensure_ascii=False).encode()
    )["body"]
    parts = urlsplit(device.endpoint)
    claims = {"aud": f"https://{parts.netloc}", "exp": int(time.time()) + 3600, "sub": _contact(device.site)}
    headers = {
        "TTL": str(LATE_HOURS * 3600),
        "Urgency": "normal" if is_daily else "high",
        "Topic": message["tag"],  # what was not delivered yet is replaced (RFC 8030, 5.4)
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
    }
    return body, headers | Vapid.from_pem(private_pem()).sign(claims)


def _contact(site: str) -> str:
    """Whom a push service may turn to: the site's address, as a person would find it."""
    return site if site.startswith("https://") else "mailto:drystack@localhost.localdomain"


@transaction.atomic
def _rest(pk: int, at: datetime, wait: str, tag: str | None) -> None:
    device = PushDevice.objects.select_for_update().filter(pk=pk).first()
    if device is None:
        return
    asked = min(timedelta(seconds=int(wait[:6])), LONGEST_WAIT) if wait.isdecimal() else None
    pause = asked or min(timedelta(minutes=2**device.failed), LONGEST_REST)
    device.rest_until, device.failed = at + pause, min(device.failed + 1, 10)
    if tag is None:
        device.reminded_on = None
    else:
        device.told.pop(tag, None)
    device.save(update_fields=["rest_until", "failed", "told", "reminded_on"])
