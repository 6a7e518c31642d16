"""The calendar: read back with icalendar, and held to RFC 5545 (sections named) on the bytes themselves."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from icalendar import Calendar

from kilnruns.actions.calendar import KEPT_DAYS, feed, forget_old
from kilnruns.actions.reminding import calendar_of, end_calendar, make_calendar, set_hours
from kilnruns.models import CalendarEntry, Reminders
from kilnruns.views.calendar import MOST_FETCHES
from kilnruns.views.slowing import MOST_WRONG
from tests.factories import PlaceFactory, StackFactory, UserFactory
from tests.kilnruns.factories import ClosureFactory, charge_of, days_from_today, ready_stack
from tests.kilnruns.test_views_today import later_stack, running
from yard.actions.language import choose
from yard.actions.people import set_admitted

pytestmark = pytest.mark.django_db


@pytest.fixture
def token(user):
    return make_calendar(by=user, at=timezone.now())


def fetch(token, **headers):
    return Client().get(f"/calendar/{token}.ics", headers=headers)


def events(token):
    response = fetch(token)
    assert response.status_code == 200
    return {str(event["summary"]): event for event in Calendar.from_ical(response.content).walk("VEVENT")}


def furnished():
    """One of each kind that a calendar tells of."""
    return (
        charge_of(start_on=days_from_today(4)), running(ago=3), later_stack(), ready_stack(), ClosureFactory(),
    )  # fmt: skip


def test_only_its_token_opens_it_and_no_session_does(token, signed_in):
    assert fetch(token).status_code == 200
    for wrong in ("x" * 32, token[:-1], token + "x", token.swapcase(), "%00" * 32, "é" * 32):
        assert fetch(wrong).status_code == 404
        assert signed_in.get(f"/calendar/{wrong}.ics").status_code == 404
    assert Client().post(f"/calendar/{token}.ics").status_code == 405


def test_the_token_is_kept_as_a_hash_alone(token, user):
    kept = Reminders.objects.get(person=user)
    assert re.fullmatch(r"[A-Za-z0-9_-]{32}", token)
    assert token not in str(vars(kept))
    assert len(kept.calendar_hash) == 64


def test_a_new_address_ends_the_former_and_ending_ends_all(token, user):
    newer = make_calendar(by=user, at=timezone.now())
    assert (fetch(token).status_code, fetch(newer).status_code) == (404, 200)
    end_calendar(by=user)
    assert fetch(newer).status_code == 404
    assert calendar_of("") is None


def test_whoever_is_shut_out_has_no_calendar_either(token, user, owner):
    set_admitted(person=user, admitted=False, by=owner)
    assert fetch(token).status_code == 404


def test_what_cannot_be_a_token_is_counted_and_looked_up_nowhere(django_assert_num_queries):
    with django_assert_num_queries(0):
        assert calendar_of("short") is None
    with CaptureQueriesContext(connection) as asked:
        assert fetch("short").status_code == 404
    assert {"yard_tries"} == {
        table for query in asked for table in re.findall(r'(?:FROM|INTO|UPDATE) "(\w+)"', query["sql"])
    }


def test_guessing_is_slowed_and_the_right_address_is_answered_all_the_same(token):
    codes = [fetch(f"{number:032}").status_code for number in range(MOST_WRONG + 2)]
    assert codes == [404] * MOST_WRONG + [429] * 2
    assert fetch("0" * 32)["Retry-After"] == "300"
    assert fetch(token).status_code == 200


def test_one_that_asks_without_end_is_slowed(token):
    codes = [fetch(token).status_code for _ in range(MOST_FETCHES + 1)]
    assert codes == [200] * MOST_FETCHES + [429]


def test_it_says_what_is_due_each_on_its_day(token):
    charge, run, stack, _ready, closure = furnished()
    found = events(token)
    load = found[f"Load {charge.kiln}"]
    assert load.decoded("dtstart") == charge.start_on
    assert load.decoded("dtend") == charge.start_on + timedelta(1), "the day after (3.6.1)"
    assert str(load["url"]) == f"http://testserver/charges/{charge.pk}/loading/"
    assert found[f"Look whether {run.kiln} is done"].decoded("dtstart") == run.ends_on
    ready = found[f"{stack.species.name.capitalize()} {stack.thickness_mm:.0f}\u202fmm ready"]
    assert ready.decoded("dtstart") == stack.outlook.ready_p50
    assert "four times in five" in ready["description"]
    closed = found[f"{closure.kiln} takes no charge"]
    assert closed.decoded("dtend") - closed.decoded("dtstart") == timedelta(3), "three days, both ends included"
    assert {"Read 2 stacks", "1 stack is ready for the kiln"} & set(found)


def test_weighing_recurs_daily_until_the_last_day(token):
    run = running(ago=3)
    weigh = events(token)[f"Weigh the samples in {run.kiln}"]
    rule = weigh["rrule"]
    assert rule["FREQ"] == ["DAILY"]
    assert rule["UNTIL"] == [run.ends_on - timedelta(1)], "a DATE as DTSTART is (3.3.10)"
    assert b"UNTIL=" + f"{run.ends_on - timedelta(1):%Y%m%d}".encode() in weigh.to_ical()


def test_it_is_held_to_the_standard_line_by_line(token, user):
    set_hours(by=user, hour=6, alarms=True)
    furnished()
    StackFactory(place=PlaceFactory(name="Hof, hinten; links \\ am Zaun – " + "sehr " * 5))
    body = fetch(token).content
    lines = body.split(b"\r\n")
    assert body.endswith(b"END:VCALENDAR\r\n") and b"\n" not in body.replace(b"\r\n", b""), "3.1: lines end in CRLF"
    assert max(map(len, lines)) <= 75, "3.1: folded at 75 octets"
    assert any(line.startswith(b" ") for line in lines)
    body.replace(b"\r\n ", b"").decode()
    calendar = Calendar.from_ical(body)
    assert (calendar["version"], calendar["prodid"]) == ("2.0", "-//Drystack//What is due//EN"), "3.7.3, 3.7.4"
    assert "METHOD" not in calendar
    for event in calendar.walk("VEVENT"):
        for once in ("UID", "DTSTAMP", "DTSTART", "SEQUENCE", "LAST-MODIFIED", "SUMMARY"):  # 3.6.1
            assert not isinstance(event[once], list)
        assert event["dtstart"].params["VALUE"] == event["dtend"].params["VALUE"] == "DATE"  # 3.8.2.2, 3.8.2.4
        assert event["dtstamp"].to_ical().endswith(b"Z"), "3.8.7.2: in UTC"
        assert event.decoded("dtstamp") == event.decoded("last-modified"), "3.8.7.2: without a METHOD"
        for alarm in event.walk("VALARM"):  # 3.6.6: a display alarm has these three
            assert (alarm["action"], alarm["description"]) == ("DISPLAY", event["summary"])
            assert alarm.decoded("trigger") == timedelta(hours=6)
    assert len({str(event["uid"]) for event in calendar.walk("VEVENT")}) == len(calendar.walk("VEVENT")), "3.8.4.7"
    assert calendar.walk("VALARM")


def test_special_characters_come_through(token):
    stack = StackFactory(place=PlaceFactory(name="Hof, hinten; links \\ am Zaun"))
    [event] = [event for event in events(token).values() if "Read" in event["summary"]]
    assert "Hof, hinten; links \\ am Zaun" in event["description"], "3.3.11"
    assert "\n" in event["description"]
    assert stack.species.name.capitalize() in event["description"]


def test_with_nothing_due_it_is_still_a_calendar_with_its_zone(token, settings):
    settings.TIME_ZONE = "Europe/Berlin"
    calendar = Calendar.from_ical(fetch(token).content)
    assert calendar.walk("VEVENT") == []
    [zone] = calendar.walk("VTIMEZONE")  # 3.6: at least one component
    assert zone["tzid"] == "Europe/Berlin"
    offsets = {part.decoded("tzoffsetto") for part in zone.walk() if part.name in ("STANDARD", "DAYLIGHT")}
    assert offsets == {timedelta(hours=1), timedelta(hours=2)}


@pytest.mark.parametrize(("zone", "day"), [("Pacific/Auckland", 2), ("UTC", 1), ("America/Denver", 1)])
def test_days_are_the_yards_own(user, settings, zone, day):
    settings.TIME_ZONE = zone
    StackFactory(cut_on=date(2026, 1, 5))
    wishes = Reminders(person=user)
    at = datetime(2026, 5, 1, 13, 0, tzinfo=UTC)
    with timezone.override(None):
        calendar = Calendar.from_ical(feed(wishes=wishes, site="http://yard", at=at))
    [event] = [event for event in calendar.walk("VEVENT") if "Read" in event["summary"]]
    assert event.decoded("dtstart") == date(2026, 5, day)


def test_an_event_keeps_its_uid_and_counts_up_only_when_it_changes(token):
    charge = charge_of(start_on=days_from_today(4))
    first = events(token)[f"Load {charge.kiln}"]
    assert first["sequence"] == 0
    CalendarEntry.objects.update(changed_at=timezone.now() - timedelta(days=2))
    same = events(token)[f"Load {charge.kiln}"]
    assert (same["uid"], same["sequence"]) == (first["uid"], 0)
    assert same.decoded("dtstamp") < first.decoded("dtstamp"), "told when it was revised, not when it was fetched"
    charge.start_on = days_from_today(6)
    charge.save()
    moved = events(token)[f"Load {charge.kiln}"]
    assert (moved["uid"], moved["sequence"], moved.decoded("dtstart")) == (first["uid"], 1, charge.start_on)
    assert moved.decoded("last-modified") > same.decoded("last-modified")


@pytest.mark.parametrize(
    ("language", "units", "words"),
    [
        ("de", "metric", ("beladen", "nimmt keine Charge", "27\u202fmm")),
        ("sv", "metric", ("Lasta", "tar ingen sats", "27\u202fmm")),
        ("en", "imperial", ("Load", "takes no charge", "1\u00a01/16\u202fin")),
    ],
)
def test_it_is_in_its_persons_language_and_units(token, user, language, units, words):
    furnished()
    before = {str(event["uid"]): int(event["sequence"]) for event in events(token).values()}
    choose(language=language, units=units, by=user)
    found = events(token)
    text = "\n".join(f"{title}\n{event['description']}" for title, event in found.items())
    assert [one for one in words if one not in text] == [], text
    english = [one for one in ("Four weeks without", "Closed from", "Due since") if one in text]
    assert english == [] or language == "en", text
    assert {str(event["uid"]): int(event["sequence"]) for event in found.values()} == before, "nothing has changed"


def test_two_people_see_the_same_things_by_the_same_marks(token):
    furnished()
    other = make_calendar(by=UserFactory(), at=timezone.now())
    assert fetch(token).content == fetch(other).content


def test_what_was_not_changed_is_not_sent_again(token):
    charge = charge_of(start_on=days_from_today(4))
    first = fetch(token)
    again = fetch(token, **{"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert again["ETag"] == first["ETag"]
    charge.days = 15
    charge.start_on = days_from_today(5)
    charge.save()
    changed = fetch(token, **{"If-None-Match": first["ETag"]})
    assert changed.status_code == 200
    assert changed["Content-Type"] == "text/calendar; charset=utf-8"
    assert "private" in changed["Cache-Control"]
    assert Client().head(f"/calendar/{token}.ics").status_code == 200


def test_alarms_ring_only_if_wanted_and_only_for_what_is_to_be_done(token, user):
    furnished()
    assert not Calendar.from_ical(fetch(token).content).walk("VALARM")
    set_hours(by=user, hour=5, alarms=True)
    for title, event in events(token).items():
        is_told = "ready" in title or title.endswith("takes no charge")
        assert bool(event.walk("VALARM")) != is_told, title


def test_it_asks_as_often_for_thirty_things_as_for_three(token, django_assert_max_num_queries):
    def queries():
        with django_assert_max_num_queries(80) as counted:
            fetch(token)
        return len(counted)

    furnished()
    fetch(token)
    few = queries()
    for _ in range(6):
        furnished()
    grown = queries()
    assert queries() == few
    assert grown <= few + 6, "and some more, as many as ever, when there is something new to note"


def test_what_is_long_over_is_forgotten(token):
    charge_of(start_on=days_from_today(4))
    fetch(token)
    assert forget_old(at=timezone.now() + timedelta(KEPT_DAYS - 1)) == 0
    assert forget_old(at=timezone.now() + timedelta(KEPT_DAYS + 1)) > 0
    assert not CalendarEntry.objects.exists()
