"""When a thing was done that a phone recorded and sent later.

The phone says what its clock showed when it was recorded and what it shows while sending. The time between the two
is right even where the clock is wrong, so the moment is our own time less that age.
"""

from datetime import UTC, date, datetime, timedelta

from django.http import HttpRequest
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.timesince import timesince
from django.utils.translation import gettext as _

TAKEN_HEADER = "X-Drystack-Taken-At"
SENT_HEADER = "X-Drystack-Sent-At"
OLDEST = timedelta(days=400)
"""Nothing that waited longer on a phone is believed to be of its day."""
OFF_BY = timedelta(minutes=15)
"""A clock wrong by more than this is told of; sending a photo over a slow network takes minutes, too."""

WRONG_DAY = timedelta(hours=36)
"""A clock wrong by more than this has another day in whatever time zone."""

CLOCK_OFF = "clock_off"
"""Note of a reading: the phone's clock was off when it was sent, and was put right by ours."""
CLOCK_DOUBTED = "clock_doubted"
"""Note of a reading: the phone's clock was set between taking and sending, so only the time of arrival is known."""


def moment(request: HttpRequest) -> datetime:
    """When what the request brings was done; now for what is done now."""
    settled = getattr(request, "settled_receipt", None)
    if settled is not None:
        return settled.taken_at
    now = timezone.now()
    age = _age(request)
    return now if age is None or not timedelta(0) <= age <= OLDEST else now - age


def clock_notes(request: HttpRequest) -> tuple[str, ...]:
    """Codes that say why the moment may be wrong: CLOCK_OFF, CLOCK_DOUBTED, or none."""
    settled = getattr(request, "settled_receipt", None)
    if settled is not None:
        return tuple(settled.clock)
    age, sent = _age(request), _stated(request, SENT_HEADER)
    if age is None or sent is None:
        return ()
    if not timedelta(0) <= age <= OLDEST:
        return (CLOCK_DOUBTED,)
    return (CLOCK_OFF,) if abs(sent - timezone.now()) > OFF_BY else ()


def right_day(request: HttpRequest, typed: str) -> str:
    """A day (ISO) that a form offered as today by a clock wrong by days or years, put right; else what was typed."""
    taken, right = _stated(request, TAKEN_HEADER), moment(request)
    try:
        day = date.fromisoformat(typed)
    except ValueError:
        return typed
    if taken is None or abs(taken - right) < WRONG_DAY or abs(day - taken.date()) > timedelta(days=1):
        return typed
    return (day + (right.date() - taken.date())).isoformat()


def clock_words(request: HttpRequest) -> list[str]:
    """The notes as sentences for the one who sent it."""
    sent = _stated(request, SENT_HEADER)
    if CLOCK_DOUBTED in clock_notes(request):
        return [_("This phone's clock was changed meanwhile: it is written down as of now.")]
    if CLOCK_OFF not in clock_notes(request) or sent is None:
        return []
    now = timezone.now()
    off = timesince(min(sent, now), max(sent, now), depth=1)
    text = _("This phone's clock is %(time)s slow.") if sent < now else _("This phone's clock is %(time)s fast.")
    return [text % {"time": off} + " " + _("The time was put right.")]


def _age(request: HttpRequest) -> timedelta | None:
    taken, sent = _stated(request, TAKEN_HEADER), _stated(request, SENT_HEADER)
    return sent - taken if taken and sent else None


def _stated(request: HttpRequest, header: str) -> datetime | None:
    """The time in a header (ISO 8601, with its zone or else UTC); None where it is missing or no time."""
    try:
        found = parse_datetime(request.headers.get(header, ""))
    except ValueError:
        return None
    return found.replace(tzinfo=UTC) if found and found.tzinfo is None else found
