"""All that happened to a stack."""

import pytest
from django.utils import timezone

from tests.factories import PlaceFactory, StackFactory
from tests.yard.queries import queries_of
from yard.actions import readings, stacks
from yard.models import Event, log

pytestmark = pytest.mark.django_db


def text_of(client, stack):
    answer = client.get(f"/stacks/{stack.code}/history/")
    assert answer.status_code == 200
    return answer.content.decode().replace("\u202f", " ")


def test_each_kind_of_event_is_told_with_its_figures_the_latest_first(signed_in, user):
    stack = StackFactory(lines=[(4000, 150, 40)])
    now = {"by": user, "at": timezone.now()}
    reading = readings.add_reading(stack=stack, method="capacitance", raw=[20, 22], taken_at=now["at"], by=user)
    readings.void_reading(reading=reading, reason="Mistyped", **now)
    was = stack.place.name
    stacks.move(stacks=[stack], place=PlaceFactory(name="Dry loft"), **now)
    stacks.correct(stack=stack, changes={"thickness_mm": 28.0}, **now)
    part = stacks.split(stack=stack, lines=[(4000, 150, 10)], **now)
    stacks.set_aside(stacks=[stack], for_what="the stairs", **now)
    stacks.use(stack=stack, for_what="the stairs", **now)
    text = text_of(signed_in, stack)
    told = [
        "for the stairs",
        f'href="/stacks/{part.code}/"',
        "green thickness: 27 → 28 mm",
        f"from {was} to Dry loft",
        "21.0 %: Mistyped",
        "21.0 %, mean of 2",
    ]
    places = [text.index(words) for words in told]
    assert places == sorted(places)
    assert user.username in text


def test_a_long_history_is_paged(signed_in):
    stack = StackFactory()
    log([stack] * 60, Event.Kind.MOVED, at=timezone.now(), by=None, was="Shed", to="Loft")
    assert text_of(signed_in, stack).count("from Shed to Loft") == 50
    answer = signed_in.get(f"/stacks/{stack.code}/history/?page=2")
    assert answer.content.decode().count("from Shed to Loft") == 10


def test_a_stack_without_history_says_so(signed_in):
    assert "Nothing is written down" in text_of(signed_in, StackFactory())


def test_three_and_thirty_events_take_the_same_queries(signed_in, user):
    few, many = StackFactory(), StackFactory()
    for stack, count in ((few, 3), (many, 30)):
        log([stack] * count, Event.Kind.USED, at=timezone.now(), by=user, for_what="a shed")
    assert queries_of(signed_in, f"/stacks/{few.code}/history/") == queries_of(
        signed_in, f"/stacks/{many.code}/history/"
    )


def test_no_such_stack_is_not_found(signed_in):
    assert signed_in.get("/stacks/22222222XX/history/").status_code == 404
