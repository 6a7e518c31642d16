"""The list of all stacks: ready ones first, in a fixed number of queries."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from tests.factories import (
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
)
from tests.yard.queries import queries_of
from yard.models import Outlook, tagcode
from yard.views.yard import PER_PAGE

pytestmark = pytest.mark.django_db


def day(ahead):
    return timezone.localdate() + timedelta(days=ahead)


def stack_ready(ahead, **kwargs):
    stack = StackFactory(**kwargs)
    OutlookFactory(stack=stack, ready_p10=day(ahead - 9), ready_p50=day(ahead), ready_p90=day(ahead + 9))
    return stack


def order(page, *stacks):
    """The stacks' places in the page, which must show them all."""
    text = page.content.decode()
    places = [text.index(f"/stacks/{stack.code}/") for stack in stacks]
    return places == sorted(places)


def test_ready_stacks_come_first_by_day_then_those_without_a_day_then_kiln_and_never_ones_last(signed_in):
    late, ready, soon = stack_ready(40), stack_ready(-3), stack_ready(5)
    never, in_kiln, dried = StackFactory(), StackFactory(place=KilnPlaceFactory()), StackFactory(kiln_dried_on=day(-9))
    OutlookFactory(stack=never, never=True, ready_p10=None, ready_p50=None, ready_p90=None, reachable_pct=21)
    unknown = StackFactory(place=PlaceFactory(temperatures_c=[], humidities_pct=[]))
    page = signed_in.get("/yard/")
    assert order(page, ready, soon, late, unknown, min(in_kiln, dried, key=lambda stack: stack.code), never)
    for words in ("the air allows 21", "in the kiln", "kiln-dried", "no forecast yet"):
        assert words in page.content.decode()


def test_a_row_shows_moisture_band_age_and_volume(signed_in):
    stack = stack_ready(5)
    ReadingFactory(stack=stack, taken_at=timezone.now() - timedelta(days=4))
    text = signed_in.get("/yard/").content.decode().replace("\u202f", " ")
    for words in ("read 4 days ago", "0.65 m³", tagcode.shown(stack.code).replace("\u202f", " ")):
        assert words in text


def test_stacks_due_a_reading_come_first_when_asked(signed_in):
    soon_and_read, later_and_old = stack_ready(5), stack_ready(50)
    ReadingFactory(stack=soon_and_read, taken_at=timezone.now() - timedelta(days=2))
    ReadingFactory(stack=later_and_old, taken_at=timezone.now() - timedelta(days=40))
    assert order(signed_in.get("/yard/"), soon_and_read, later_and_old)
    assert "2 stacks, the nearest ready first" in signed_in.get("/yard/").content.decode()
    page = signed_in.get("/yard/?due=on")
    assert order(page, later_and_old, soon_and_read)
    assert "2 stacks, those due a reading first" in page.content.decode()
    assert "nearest ready first" not in page.content.decode()
    assert page.content.decode().count("due a reading</span>") == 1


@pytest.mark.parametrize(
    "query",
    ["species={species}", "place={place}", "thickness=52", "text={name}", "text={code}", "text=window", "state=ready"],
)
def test_filters_leave_only_what_is_asked_for(signed_in, query):
    wanted = stack_ready(-2, thickness_mm=52, note="for the window frames")
    other = stack_ready(30)
    names = {"species": wanted.species.pk, "place": wanted.place.pk, "name": wanted.species.name.lower()}
    # a person copies a code in small letters and with blanks
    names["code"] = tagcode.shown(wanted.code).lower().replace("\u202f", "+")
    text = signed_in.get("/yard/?" + query.format(**names)).content.decode()
    assert f"/stacks/{wanted.code}/" in text
    assert f"/stacks/{other.code}/" not in text


def test_each_state_can_be_asked_for(signed_in):
    never, drying = StackFactory(), stack_ready(20)
    OutlookFactory(stack=never, never=True, ready_p10=None, ready_p50=None, ready_p90=None)
    in_kiln, dried = StackFactory(place=KilnPlaceFactory()), StackFactory(kiln_dried_on=day(-9))
    gone = StackFactory(used_at=datetime(2025, 8, 1, tzinfo=UTC))
    everything = (never, drying, in_kiln, dried, gone)
    for state, stack in zip(("never", "drying", "kiln", "dried", "gone"), everything, strict=True):
        text = signed_in.get(f"/yard/?state={state}").content.decode()
        shown = [one for one in everything if f"/stacks/{one.code}/" in text]
        assert shown == [stack], state


def test_an_unknown_value_in_the_address_is_left_out(signed_in):
    stack = stack_ready(5)
    page = signed_in.get("/yard/?species=99999&thickness=7&page=77")
    assert page.status_code == 200
    assert f"/stacks/{stack.code}/" in page.content.decode()


def test_a_search_that_finds_nothing_says_so_and_offers_all(signed_in):
    stack_ready(5)
    assert "No stack is like that" in signed_in.get("/yard/?text=zebrano").content.decode()


def test_an_empty_yard_asks_for_a_place_and_then_for_a_stack(signed_in):
    assert "First a place" in signed_in.get("/yard/").content.decode()
    PlaceFactory()
    assert "No stack yet" in signed_in.get("/yard/").content.decode()


def test_a_page_holds_so_many_stacks_and_the_rest_is_on_the_next(signed_in):
    species, place = SpeciesFactory(), PlaceFactory()
    for ahead in range(PER_PAGE + 1):
        stack_ready(ahead, species=species, place=place)
    assert signed_in.get("/yard/").content.decode().count('class="row"') == PER_PAGE
    assert signed_in.get("/yard/?page=2").content.decode().count('class="row"') == 1


def test_three_and_thirty_stacks_take_the_same_queries(signed_in):
    for ahead in range(3):
        stack_ready(ahead)
    few = queries_of(signed_in, "/yard/")
    for ahead in range(27):
        stack_ready(ahead)
    assert queries_of(signed_in, "/yard/") == few


def test_stacks_without_a_forecast_get_one_on_the_way_all_in_one_batch(signed_in):
    stacks = [StackFactory(place=PlaceFactory()) for _number in range(3)]
    first = queries_of(signed_in, "/yard/")
    assert set(Outlook.objects.values_list("stack", flat=True)) == {stack.pk for stack in stacks}
    settled = queries_of(signed_in, "/yard/")
    Outlook.objects.all().delete()
    for _number in range(27):
        StackFactory(place=PlaceFactory())
    assert queries_of(signed_in, "/yard/") == first > settled


def test_who_is_not_signed_in_sees_nothing(db):
    answer = Client().get("/yard/")
    assert answer.status_code == 302
    assert answer.url.startswith("/sign-in/")


def test_nothing_can_be_posted_to_it(signed_in):
    assert signed_in.post("/yard/").status_code == 405


def test_the_outlook_factorys_curve_is_the_figure_shown(signed_in):
    stack = StackFactory()
    OutlookFactory(stack=stack, curve={"day": [date(2025, 4, 3).toordinal()], "p10": [17], "p50": [18.6], "p90": [20]})
    text = signed_in.get("/yard/").content.decode().replace("\u202f", " ")
    assert "18.6 %" in text
    assert "17.0 to 20.0 %" in text
