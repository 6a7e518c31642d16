"""A person's calendar of what is due, and what calendars were told before."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from hashlib import sha256

from django.conf import settings
from django.db import transaction
from django.utils import timezone, translation
from django.utils.translation import gettext as _

from kilnruns.models import CalendarEntry, Reminders
from kilnruns.reminding.due import dues
from kilnruns.reminding.feed import Frame, Stamp, calendar
from kilnruns.reminding.wording import Told, told
from yard.actions.language import told_in
from yard.models import Mill

KEPT_DAYS = 400
"""So long it is known what was told of a thing that is over, should it come again."""


def feed(*, wishes: Reminders, site: str, at: datetime) -> bytes:
    """The person's calendar; `site` is the address that its links begin with."""
    on = timezone.localdate(at)
    today, mill = list(dues(on)), Mill.current()
    with translation.override(settings.LANGUAGE_CODE):
        # one for all: what two people read in two languages has not changed by that
        stamps = stamped(things=told(today), at=at)
    with told_in(wishes.person):
        name = _("Drystack, %(mill)s") % {"mill": mill.name} if mill else "Drystack"
        frame = Frame(name, site, settings.TIME_ZONE, on, wishes.hour if wishes.alarms else None)
        return calendar(told(today), stamps, frame)


def stamped(*, things: Sequence[Told], at: datetime) -> dict[str, Stamp]:
    """By key: what calendars know each thing by. What has changed since is counted up, once, whoever asks first."""
    digests = {one.due.key: _digest(one) for one in things}
    known = {row.key: row for row in CalendarEntry.objects.filter(key__in=digests)}
    if any(key not in known or known[key].digest != digest for key, digest in digests.items()):
        known = _noted(digests, at)
    return {key: Stamp(row.uid, row.sequence, row.changed_at) for key, row in known.items()}


@transaction.atomic
def _noted(digests: dict[str, str], at: datetime) -> dict[str, CalendarEntry]:
    fresh = [CalendarEntry(key=key, digest=digest, changed_at=at) for key, digest in digests.items()]
    CalendarEntry.objects.bulk_create(fresh, ignore_conflicts=True)
    known = {row.key: row for row in CalendarEntry.objects.select_for_update().filter(key__in=digests)}
    changed = [row for row in known.values() if row.digest != digests[row.key]]
    for row in changed:
        row.digest, row.sequence, row.changed_at = digests[row.key], row.sequence + 1, max(at, row.changed_at)
    CalendarEntry.objects.bulk_update(changed, ["digest", "sequence", "changed_at"])
    return known


def _digest(one: Told) -> str:
    """Of all that a calendar shows."""
    due = one.due
    shown = (due.first_day.isoformat(), due.last_day.isoformat(), str(due.daily), one.title, one.text, one.path)
    return sha256("\n".join(shown).encode()).hexdigest()


def forget_old(*, at: datetime) -> int:
    """Forget what was told long ago of things that have not changed since. Returns how many."""
    return CalendarEntry.objects.filter(changed_at__lt=at - timedelta(KEPT_DAYS)).delete()[0]
