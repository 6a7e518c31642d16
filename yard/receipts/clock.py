"""When a thing was done that a phone recorded and sent later.

The phone says what its clock showed when it was recorded and what it shows while sending. The time between the two
is right even where the clock is wrong, so the moment is our own time less that age.
"""

from datetime import UTC, datetime, timedelta

from django.http import HttpRequest
from django.utils import timezone
from django.utils.dateparse import parse_datetime

TAKEN_HEADER = "X-Drystack-Taken-At"
SENT_HEADER = "X-Drystack-Sent-At"
OLDEST = timedelta(days=400)
"""Nothing that waited longer on a phone is believed to be of its day."""
OFF_BY = timedelta(days=1)
"""A clock wrong by more than this is told of with the reading."""

CLOCK_OFF = "clock_off"
"""Note of a reading: the phone's clock was off by more than a day when it was sent, and was put right by ours."""
CLOCK_DOUBTED = "clock_doubted"
"""Note of a reading: the phone's clock was set between taking and sending, so only the time of arrival is known."""


def moment(request: HttpRequest) -> datetime:
    """When what the request brings was done; now for what is done now."""
    now = timezone.now()
    age = _age(request)
    return now if age is None or not timedelta(0) <= age <= OLDEST else now - age


def clock_notes(request: HttpRequest) -> tuple[str, ...]:
    """Codes that say why the moment may be wrong: CLOCK_OFF, CLOCK_DOUBTED, or none."""
    age, sent = _age(request), _stated(request, SENT_HEADER)
    if age is None or sent is None:
        return ()
    if not timedelta(0) <= age <= OLDEST:
        return (CLOCK_DOUBTED,)
    return (CLOCK_OFF,) if abs(sent - timezone.now()) > OFF_BY else ()


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
