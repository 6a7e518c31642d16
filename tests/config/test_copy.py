"""The copy of the yard: whole at first, then what changed, whoever changed it and in whatever order it came to be."""

import gzip
import json
import random
from datetime import UTC, date, datetime, timedelta

import pytest
from django.utils import timezone

from config.offline.cursor import Cursor, Seen, read, still_holds
from drying.weather import Day
from kilnruns.actions import charges as charge_actions
from tests.factories import (
    BoardFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
    TagFactory,
    UserFactory,
)
from tests.kilnruns.factories import charge_of, ready_stack
from tests.yard.queries import queries_of
from tests.yard.test_outlook_learning import finished
from yard import outlook
from yard.actions.boards import make_board
from yard.actions.learning import reset
from yard.actions.places import keep_place
from yard.actions.readings import add_reading, void_reading
from yard.actions.stacks import correct, join, make_stack, move, put_back, set_aside, split, use
from yard.actions.tags import make_blank, replace
from yard.actions.weather import keep_weather
from yard.models import Event, Outlook, Person, Reading, SampleBoard, Stack, Tag
from yard.models.tagcode import new_code

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 6, 1, 9, tzinfo=UTC)


@pytest.fixture
def me(client):
    user = UserFactory(username="sawyer")
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return user


@pytest.fixture
def fetch(client, me):
    def fetch(since=""):
        answer = client.get("/copy/", {"since": since})
        assert answer.status_code == 200
        return answer.json()

    return fetch


def codes(answer):
    return {row["code"] for row in answer["stacks"]}


def test_it_is_for_those_who_are_signed_in_and_never_stored(client, me):
    assert "no-store" in client.get("/copy/")["Cache-Control"]
    assert client.post("/copy/").status_code == 405
    client.logout()
    assert client.get("/copy/").status_code == 302


def test_at_first_it_is_whole(fetch, me):
    stack, board = ready_stack(note="Near the gate"), BoardFactory()
    ReadingFactory(stack=stack)
    SampleBoard.objects.create(stack=stack, label="A", green_mass_g=900, oven_dry_mass_g=500, made_on=date(2025, 5, 1))
    blank, old = TagFactory(), stack.code
    StackFactory(used_at=NOW)
    new = replace(stack=stack, by=me, at=NOW).code
    whole = fetch()
    assert whole["whole"] is True
    assert whole["user"] == {"id": str(me.pk), "name": "sawyer"}
    assert codes(whole) == {new, board.stack.code}
    assert whole["blank"] == [blank.code]
    assert whole["replaced"] == [[old, new, "2026-06-01"]]
    assert [one["code"] for one in whole["boards"]] == [board.code]
    row = next(row for row in whole["stacks"] if row["code"] == new)
    assert row["note"] == "Near the gate"
    assert row["version"] == str(Event.objects.get(stack=stack).pk)
    assert row["read"] == ["2025-06-01T09:00+00:00", pytest.approx(23.9), "pins"]
    assert row["samples"][0][1:] == ["A", 500]
    assert row["boards"] == 40 and row["m3"] == "0.65\u202fm³"


def test_the_forecast_in_it_is_the_one_of_the_stack_s_page(fetch):
    stack = ready_stack()
    told = fetch()["stacks"][0]["forecast"]
    assert told["ready"] == ["2025-06-01", "2025-06-15", "2025-07-10"]
    today = timezone.localdate()
    for ahead, point in zip((0, 7, 14, 28, 56, 112, 224), told["pct"], strict=True):
        assert point == pytest.approx(stack.outlook.moisture_on(today + timedelta(days=ahead)), abs=0.05)


def test_nothing_changed_nothing_is_sent(fetch):
    ready_stack()
    Outlook.objects.update(made_at=timezone.now() - timedelta(minutes=5))
    again = fetch(fetch()["cursor"])
    assert again["whole"] is False
    assert (again["stacks"], again["gone"], again["blank"]) == ([], [], [])
    assert set(again) == {"whole", "more", "cursor", "asOf", "user", "stacks", "gone", "blank"}
    assert len(json.dumps(again)) < 1000


def _new_stack(stack, me):
    fresh = Stack(species=stack.species, place=stack.place, thickness_mm=32, cut_on=date(2026, 5, 1))
    return make_stack(tag=None, stack=fresh, lines=[(3000, 200, 9)], by=me, at=NOW).code


def _split(stack, me):
    return split(stack=stack, lines=[(4000, 150, 5)], by=me, at=NOW).code


def _sample(stack, me):
    SampleBoard.objects.create(stack=stack, label="B", green_mass_g=900, oven_dry_mass_g=500, made_on=date(2026, 5, 1))


def _outlook(stack, me):
    Outlook.objects.filter(stack=stack).update(ready_p50=date(2026, 9, 9), made_at=timezone.now())


def _void(stack, me):
    void_reading(reading=stack.readings.get(), reason="Typed wrong", by=me, at=NOW)


CHANGES = {
    "new stack": _new_stack,
    "reading": lambda stack, me: add_reading(stack=stack, method="pins", raw=[20.0], taken_at=NOW, by=me) and None,
    "reading voided": _void,
    "move": lambda stack, me: move(stacks=[stack], place=PlaceFactory(), by=me, at=NOW),
    "split": _split,
    "retag": lambda stack, me: replace(stack=stack, by=me, at=NOW).code,
    "edit": lambda stack, me: correct(stack=stack, changes={"target_pct": 10}, by=me, at=NOW) and None,
    "note": lambda stack, me: correct(stack=stack, changes={"note": "Crooked"}, by=me, at=NOW) and None,
    "set aside": lambda stack, me: set_aside(stacks=[stack], for_what="A table", by=me, at=NOW),
    "sample board": _sample,
    "board": lambda stack, me: make_board(stack=stack, length_mm=3000, width_mm=400, by=me, at=NOW) and None,
    "outlook refreshed": _outlook,
}


@pytest.mark.parametrize("kind", CHANGES)
def test_a_changed_stack_is_sent_as_it_is_now(fetch, me, kind):
    stack = ready_stack()
    ReadingFactory(stack=stack)
    others = [ready_stack() for _each in range(3)]
    Outlook.objects.update(made_at=timezone.now() - timedelta(minutes=5))
    cursor = fetch()["cursor"]
    code = CHANGES[kind](stack, me) or stack.code
    answer = fetch(cursor)
    assert answer["whole"] is False
    assert code in codes(answer)
    assert codes(answer).isdisjoint({other.code for other in others})
    after = {row["code"]: row for row in answer["stacks"]}[code]
    assert after == {row["code"]: row for row in fetch()["stacks"]}[code]


def _stacks_with_forecast():
    """Two that stand apart, and four finished ones of the first one's wood that dried fast there."""
    stack, other = (StackFactory(place=PlaceFactory(), species=SpeciesFactory()) for _each in range(2))
    for _each in range(4):
        finished(stack.species, stack.place, deviation=0.6)
    outlook.refresh_missing()
    Outlook.objects.update(made_at=timezone.now() - timedelta(minutes=5))
    return stack, other


def _forecasts(answer):
    return {row["code"]: row["forecast"]["pct"] for row in answer["stacks"]}


def test_a_forecast_made_anew_for_the_weather_is_sent(fetch, me):
    stack, other = _stacks_with_forecast()
    before = fetch()
    days = [Day(date(2025, 4, 5) + timedelta(days=n), 28.0, 30.0) for n in range(20)]
    keep_weather(place=stack.place, days=days, by=me)
    outlook.refresh_missing()
    answer = fetch(before["cursor"])
    assert answer["whole"] is False
    assert codes(answer) == {stack.code}
    assert codes(before) == {stack.code, other.code}
    assert _forecasts(answer)[stack.code] != _forecasts(before)[stack.code]


def test_forecasts_made_anew_for_a_reset_are_sent(fetch, me):
    stack, _other = _stacks_with_forecast()
    before = fetch()
    reset(species=stack.species, reason="Another saw", by=me, at=timezone.now())
    outlook.refresh_missing()
    answer = fetch(before["cursor"])
    assert answer["whole"] is False
    assert stack.code in codes(answer)
    assert _forecasts(answer)[stack.code] != _forecasts(before)[stack.code]


def test_what_is_used_or_joined_is_gone_with_its_boards_and_may_come_back(fetch, me):
    used, joined = ready_stack(), ready_stack()
    into = ready_stack(species=joined.species)
    BoardFactory(stack=used, code="22222222A2")
    cursor = fetch()["cursor"]
    use(stack=used, for_what="A door", by=me, at=NOW)
    join(stack=joined, into=into, by=me, at=NOW)
    answer = fetch(cursor)
    assert set(answer["gone"]) == {used.code, joined.code, "22222222A2"}
    assert answer["joined"] == [[joined.code, into.code]]
    assert answer["boards"] == []
    assert into.code in codes(answer)
    put_back(stack=used, by=me, at=NOW)
    assert used.code in codes(fetch(answer["cursor"]))


def _renamed(stack, me):
    stack.place.name = "Behind the barn"
    keep_place(place=stack.place, by=me)


def _loaded(stack, me):
    charge_actions.load(charge=stack.charge_stacks.get().charge, stack=stack, by=me, at=NOW)


@pytest.mark.parametrize(
    ("change", "part"),
    [(_renamed, "places"), (_loaded, "charges"), (lambda s, m: SpeciesFactory(name="Rowan"), "species")],
)
def test_a_changed_part_is_sent_whole_and_the_others_not(fetch, me, change, part):
    stack = ready_stack()
    charge_of(stack)
    before = fetch()
    change(stack, me)
    answer = fetch(before["cursor"])
    assert answer[part] != before[part]
    assert answer[part] == fetch()[part]
    assert "replaced" not in answer and "joined" not in answer


def test_new_blank_tags_are_sent_and_not_the_old_ones(fetch, me):
    make_blank(count=20, by=me)
    cursor = fetch()["cursor"]
    printed = [tag.code for tag in make_blank(count=3, by=me)]
    assert set(fetch(cursor)["blank"]) == set(printed)


def test_who_loads_is_told_what_is_in(fetch, me):
    stack, other = ready_stack(), ready_stack()
    charge = charge_of(stack, other)
    charge_actions.load(charge=charge, stack=stack, by=me, at=NOW)
    (told,) = fetch()["charges"]
    assert {one["code"]: one["in"] for one in told["stacks"]} == {stack.code: True, other.code: False}


def test_a_change_that_commits_after_a_later_one_is_not_missed(fetch):
    early, late = ready_stack(), ready_stack()
    Outlook.objects.update(made_at=timezone.now() - timedelta(minutes=5))
    Event.objects.create(pk=1000, stack=late, kind="read", at=NOW)
    Event.objects.create(pk=1003, stack=late, kind="read", at=NOW)
    cursor = fetch()["cursor"]
    Event.objects.create(pk=1002, stack=early, kind="read", at=NOW)  # its key was drawn before, it commits now
    answer = fetch(cursor)
    assert codes(answer) == {early.code}
    assert codes(fetch(answer["cursor"])) == set()


def test_many_gaps_make_no_long_cursor():
    stack = StackFactory()
    Event.objects.bulk_create(Event(pk=3 * n, stack=stack, kind="read", at=NOW) for n in range(1, 400))
    seen = Seen.of(Event)
    assert len(seen.gaps) <= 40
    missing = [n for n in range(4, 3 * 399) if n % 3]
    assert all(any(low <= n <= high for low, high in seen.gaps) for n in missing)


@pytest.mark.parametrize("text", ["", "x", "AAAA", "W10", "eyJhIjoxfQ", "WzEsMSwiMSIsWzEsW11dXQ", "é", "W1tbW1tb"])
def test_a_cursor_that_says_nothing_gets_the_whole(fetch, text):
    assert read(text) is None
    assert fetch(text)["whole"] is True


def test_another_user_s_an_old_and_a_restored_database_s_cursor_get_the_whole(fetch, client):
    ready_stack()
    now = timezone.now()
    base = {"samples": Seen(), "tags": Seen(0), "events": Seen(3)}
    current = Cursor(now, "1", **base)
    assert still_holds(current, current)
    assert not still_holds(Cursor(now, "2", **base), current)
    assert not still_holds(Cursor(now - timedelta(days=91), "1", **base), current)
    assert not still_holds(Cursor(now, "1", **{**base, "events": Seen(4)}), current)
    mine = fetch()["cursor"]
    client.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
    assert fetch(mine)["whole"] is True


def test_its_queries_do_not_grow_with_the_yard(client, me):
    def yard():
        for stack in (ready_stack(), ready_stack()):
            ReadingFactory(stack=stack)
            _sample(stack, me)
            BoardFactory(stack=stack)
            charge_of(stack)
            TagFactory()

    yard()
    few = queries_of(client, "/copy/")
    for _time in range(3):
        yard()
    assert queries_of(client, "/copy/") == few


def _a_yard_of(count):
    """Each stack unlike the others, so that packing finds no more in common than in a real yard."""
    chance = random.Random(11)
    species, places = [SpeciesFactory() for _n in range(8)], [PlaceFactory() for _n in range(6)]
    stacks = Stack.objects.bulk_create(
        Stack(
            code=new_code(),
            species=chance.choice(species),
            place=chance.choice(places),
            thickness_mm=chance.choice([20, 27, 32, 40, 52]),
            cut_on=date(2025, 4, 3) + timedelta(days=chance.randrange(300)),
            note=" ".join(chance.choices(["north row", "second choice", "crooked", "near the gate", "long"], k=3)),
        )
        for _n in range(count)
    )
    today = timezone.localdate()
    outlooks = []
    for stack in stacks:
        days = [today.toordinal() + ahead for ahead in range(-100, 300, 50)]
        curve = {name: [chance.uniform(12, 60) for _day in days] for name in ("p10", "p50", "p90")}
        ready = today + timedelta(days=chance.randrange(200))
        built = OutlookFactory.build(stack=stack, curve={"day": days, **curve}, ready_p50=ready)
        outlooks.append(built)
    Outlook.objects.bulk_create(outlooks)
    Reading.objects.bulk_create(
        ReadingFactory.build(stack=stack, taken_at=NOW - timedelta(minutes=chance.randrange(9999))) for stack in stacks
    )
    return stacks


def test_a_yard_of_two_thousand_stacks_fits_into_two_megabytes(client, me, fetch):
    stacks = _a_yard_of(2000)
    Event.objects.bulk_create(Event(stack=stack, kind="stacked", at=NOW, details={}) for stack in stacks)
    Outlook.objects.update(made_at=timezone.now() - timedelta(minutes=5))
    make_blank(count=200, by=me)
    whole = client.get("/copy/")
    assert len(whole.content) < 2_000_000
    packed = client.get("/copy/", headers={"Accept-Encoding": "gzip"})
    assert packed["Content-Encoding"] == "gzip"
    assert len(packed.content) < 400_000
    assert json.loads(gzip.decompress(packed.content))["whole"] is True
    print(f"whole {len(whole.content)} bytes, packed {len(packed.content)}")
    add_reading(stack=stacks[7], method="pins", raw=[20.0], taken_at=NOW, by=me)
    after = client.get("/copy/", {"since": whole.json()["cursor"]})
    assert codes(after.json()) == {stacks[7].code}
    assert len(after.content) < 3000
    print(f"after one reading {len(after.content)} bytes")


def test_a_stack_without_a_forecast_is_told_all_the_same(fetch):
    stack = StackFactory(place=PlaceFactory(temperatures_c=[], humidities_pct=[]))
    (row,) = fetch()["stacks"]
    assert row["code"] == stack.code and "forecast" not in row
    assert outlook.standing(stack, date.today()).state == "unknown"
    assert Tag.objects.get(stack=stack).code == stack.code


def test_a_large_yard_is_brought_in_pages_and_nothing_of_it_is_missed(fetch, monkeypatch):
    monkeypatch.setattr("config.offline.copy.PAGE", 2)
    monkeypatch.setattr("config.offline.rows.PAGE", 2)
    stacks = [StackFactory() for _number in range(5)]
    answer = fetch()
    assert (answer["whole"], answer["more"]) == (True, True)
    found, asked = codes(answer), 1
    late = StackFactory()
    Event.objects.create(stack=stacks[0], kind=Event.Kind.NOTED, at=NOW, details={"text": "meanwhile"})
    while answer["more"]:
        answer, asked = fetch(answer["cursor"]), asked + 1
        assert answer["whole"] is False
        found |= codes(answer)
    assert found == {one.code for one in [*stacks, late]}
    assert asked == 4
    assert codes(fetch(answer["cursor"])) == set()


@pytest.mark.parametrize(("units", "thickness", "warmth"), [("metric", "27", "14"), ("imperial", "1.063", "57.2")])
def test_first_values_are_in_the_units_that_their_fields_are_typed_in(fetch, me, units, thickness, warmth):
    stack = StackFactory(thickness_mm=27.0)
    ReadingFactory(stack=stack, made_by=me, wood_temperature_c=14.0)
    Person.objects.update_or_create(user=me, defaults={"units": units})
    told = fetch()
    assert told["offered"]["thickness_mm"].startswith(thickness)
    assert told["mine"]["temperature"].startswith(warmth)
