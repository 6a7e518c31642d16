"""Moves that are told of late go to their place in time; where the stack stands now, it stays."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import KilnPlaceFactory, PlaceFactory, StackFactory
from tests.yard.outbox import send
from yard import outlook
from yard.actions.stacks import move
from yard.actions.stays import place_at
from yard.models import Event

pytestmark = pytest.mark.django_db


@pytest.fixture
def stack():
    """In a shed for sixty days."""
    return StackFactory(cut_on=timezone.localdate() - timedelta(days=60))


def days_ago(days):
    return timezone.now() - timedelta(days=days)


def sent(client, stack, place, *, taken, **fields):
    now = timezone.now()
    headers = {"X-Drystack-Taken-At": taken.isoformat(), "X-Drystack-Sent-At": now.isoformat()}
    answer = send(client, f"/stacks/{stack.code}/move/", {"place": place.pk, **fields}, **headers)
    stack.refresh_from_db()
    return " ".join(answer.json()["said"])


def way(stack):
    return [stay.place.name for stay in stack.stays.all()]


def test_a_move_told_of_after_a_later_one_is_history(signed_in, stack):
    first, loft, field = stack.place, PlaceFactory(name="Loft"), PlaceFactory(name="Field")
    move(stacks=[stack], place=field, by=None, at=days_ago(2))
    said = sent(signed_in, stack, loft, taken=days_ago(20))
    assert said == "It was moved on since: Loft is in its history, and it stands in Field."
    assert stack.place == field
    assert way(stack) == [first.name, "Loft", "Field"]
    told = list(stack.events.order_by("at").values_list("details__was", "details__to"))
    assert told == [(first.name, "Loft"), (first.name, "Field")]


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 1, 0), (1, 2, 0), (2, 0, 1)])
def test_the_way_is_the_same_in_whatever_order_it_is_told(signed_in, stack, order):
    places, start = [PlaceFactory(name=name) for name in "ABC"], stack.place.name
    for number in order:
        sent(signed_in, stack, places[number], taken=days_ago(30 - 10 * number))
    assert way(stack) == [start, "A", "B", "C"]
    assert stack.place == places[2]
    assert [place_at(stack, days_ago(days)).name for days in (40, 25, 15, 1)] == [start, "A", "B", "C"]


def test_where_it_stood_at_that_time_it_is_not_moved_to_again(signed_in, stack):
    first, field = stack.place, PlaceFactory(name="Field")
    move(stacks=[stack], place=field, by=None, at=days_ago(2))
    sent(signed_in, stack, first, taken=days_ago(20))
    assert way(stack) == [first.name, "Field"]
    assert stack.place == field


def test_the_forecast_goes_by_where_it_stood_when(signed_in, stack):
    wet = PlaceFactory(humidities_pct=[94] * 12)
    dry = PlaceFactory(humidities_pct=[45] * 12)
    twin = StackFactory(cut_on=stack.cut_on, species=stack.species, place=stack.place)
    move(stacks=[stack], place=dry, by=None, at=days_ago(1))
    sent(signed_in, stack, wet, taken=days_ago(50))
    sent(signed_in, twin, wet, taken=days_ago(50))
    sent(signed_in, twin, dry, taken=days_ago(1))
    outlook.refresh([stack, twin])
    stack.refresh_from_db(), twin.refresh_from_db()
    assert stack.outlook.curve["p50"] == twin.outlook.curve["p50"]


def test_a_move_from_before_it_was_stacked_begins_with_its_first_stay(signed_in, stack):
    loft = PlaceFactory(name="Loft")
    first = stack.stays.get()
    sent(signed_in, stack, loft, taken=days_ago(90))
    assert [stay.since for stay in stack.stays.all()] == [first.since, first.since]
    assert stack.place == loft


def test_out_of_the_kiln_and_dry_is_kept_though_another_moved_it_on_first(signed_in):
    kiln, store, loft = KilnPlaceFactory(), PlaceFactory(name="Store"), PlaceFactory(name="Loft")
    stack = StackFactory(place=kiln, cut_on=timezone.localdate() - timedelta(days=60))
    move(stacks=[stack], place=loft, by=None, at=days_ago(1))
    sent(signed_in, stack, store, taken=days_ago(3), kiln_dried="on")
    assert stack.place == loft
    assert stack.kiln_dried_on == timezone.localtime(days_ago(3)).date()
    assert stack.events.filter(kind=Event.Kind.MOVED).count() == 2
