"""What is due as a calendar to subscribe to: iCalendar (RFC 5545), with the name and refresh of RFC 7986."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from icalendar import Alarm, Calendar, Event, Timezone

from kilnruns.reminding.wording import Told

PRODUCT = "-//Drystack//What is due//EN"
REFRESH = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Stamp:
    """By what calendars know a thing again, and how often and when what they were told of it has changed."""

    uid: UUID
    sequence: int
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class Frame:
    """The calendar's name, the site's address, the yard's time zone, the hour of its alarms (None: it never rings)."""

    name: str
    site: str
    zone: str
    first_day: date
    alarm_hour: int | None = None


def calendar(things: Iterable[Told], stamps: Mapping[str, Stamp], frame: Frame) -> bytes:
    """All-day events, since what is due is so on a day of the yard's own zone, which the calendar brings along.

    DTSTAMP is when the event was last revised, as without a METHOD it must be (RFC 5545, 3.8.7.2): the same things
    make the same bytes.
    """
    found = Calendar()
    found.add("prodid", PRODUCT)
    found.add("version", "2.0")
    found.add("calscale", "GREGORIAN")
    found.add("name", frame.name)
    found.add("x-wr-calname", frame.name)
    found.add("x-wr-timezone", frame.zone)
    found.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    # A calendar without a component is none (3.6): the zone is there when nothing is due.
    year = frame.first_day.year
    found.add_component(Timezone.from_tzid(frame.zone, first_date=date(year, 1, 1), last_date=date(year + 2, 1, 1)))
    for one in things:
        found.add_component(_event(one, stamps[one.due.key], frame))
    return found.to_ical()


def _event(one: Told, stamp: Stamp, frame: Frame) -> Event:
    event = Event()
    changed_at = stamp.changed_at.astimezone(UTC).replace(microsecond=0)
    event.add("uid", str(stamp.uid))
    event.add("dtstamp", changed_at)
    event.add("last-modified", changed_at)
    event.add("sequence", stamp.sequence)
    _days(event, one)
    event.add("summary", one.title)
    event.add("description", one.text)
    event.add("url", f"{frame.site}{one.path}")
    event.add("transp", "TRANSPARENT")  # nobody is busy by it
    if frame.alarm_hour is not None and one.due.is_due(one.due.first_day):
        event.add_component(_alarm(one.title, frame.alarm_hour))
    return event


def _days(event: Event, one: Told) -> None:
    """DTEND is the day after the last (3.6.1). What comes again each day is one event that recurs."""
    first, last = one.due.first_day, one.due.last_day
    event.add("dtstart", first)
    event.add("dtend", (first if one.due.daily else last) + timedelta(1))
    if one.due.daily:
        event.add("rrule", {"freq": "daily", "until": last})


def _alarm(title: str, hour: int) -> Alarm:
    """Rings so many hours after the day's begin (3.8.6.3)."""
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", title)
    alarm.add("trigger", timedelta(hours=hour))
    return alarm
