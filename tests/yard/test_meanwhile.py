"""What was sent after its stack was joined, split or got another tag goes to what bears the tag now, and says so."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import PlaceFactory, StackFactory, UserFactory
from tests.yard.outbox import send
from yard.actions.stacks import join, split
from yard.actions.tags import replace
from yard.models import Event, Reading

pytestmark = pytest.mark.django_db
VALUES = {"method": "pins", "values": "20 21", "wood_temperature_c": "12"}


def made(**kwargs):
    return StackFactory(cut_on=timezone.localdate() - timedelta(days=60), **kwargs)


def said(answer):
    assert answer.status_code == 200, answer.content
    return " ".join(answer.json()["said"]).replace("\u202f", "")


@pytest.fixture
def joined():
    """Two stacks of one wood; the first was laid on the second."""
    into = made()
    stack = made(species=into.species, place=into.place)
    join(stack=stack, into=into, by=None, at=timezone.now())
    return stack, into


@pytest.mark.parametrize(
    ("page", "fields"), [("readings/new/", VALUES), ("note/", {"note": "a wet corner"}), ("move/", None)]
)
def test_what_was_for_a_joined_stack_goes_to_the_one_it_lies_on(signed_in, joined, page, fields):
    stack, into = joined
    answer = send(signed_in, f"/stacks/{stack.code}/{page}", fields or {"place": PlaceFactory().pk})
    assert answer.json()["location"] == f"/stacks/{into.code}/"
    assert f"{stack.code} was joined into {into.code}: this goes there." in said(answer)
    assert into.events.exclude(kind=Event.Kind.JOINED).count() == 1
    assert stack.events.exclude(kind=Event.Kind.JOINED).count() == 0


def test_two_joins_are_followed_to_the_end(signed_in, joined):
    stack, into = joined
    last = made(species=into.species, place=into.place)
    join(stack=into, into=last, by=None, at=timezone.now())
    send(signed_in, f"/stacks/{stack.code}/readings/new/", VALUES)
    assert Reading.objects.get().stack == last


def test_the_page_of_a_joined_stack_s_reading_is_the_other_s(signed_in, joined):
    stack, into = joined
    page = signed_in.get(f"/stacks/{stack.code}/readings/new/").content.decode()
    assert f'action="/stacks/{into.code}/readings/new/"' in page


def test_a_replaced_tag_s_code_goes_to_what_bears_it_now(signed_in):
    stack = made()
    old = stack.code
    replace(stack=stack, by=None, at=timezone.now())
    answer = send(signed_in, f"/stacks/{old}/readings/new/", VALUES)
    assert answer.json()["location"] == f"/stacks/{stack.code}/"
    assert Reading.objects.get().stack == stack
    assert signed_in.get(f"/stacks/{old}/")["Location"] == f"/stacks/{stack.code}/"


def test_a_reading_of_a_stack_split_meanwhile_counts_to_what_bears_the_tag_and_says_so(signed_in, user):
    stack = made(lines=[(4000, 150, 40)])
    part = split(stack=stack, lines=[(4000, 150, 8)], by=UserFactory(), at=timezone.now())
    before = str(stack.events.get().pk - 1)
    answer = send(signed_in, f"/stacks/{stack.code}/readings/new/", VALUES, **{"X-Drystack-Seen": before})
    assert f"8 boards were split off into {part.code} meanwhile." in said(answer)
    assert Reading.objects.get().stack == stack


@pytest.mark.parametrize("seen", ["", "0x7", "9" * 30, "latest"])
def test_who_saw_the_split_or_a_version_that_is_none_is_told_nothing(signed_in, seen):
    stack = made(lines=[(4000, 150, 40)])
    split(stack=stack, lines=[(4000, 150, 8)], by=UserFactory(), at=timezone.now())
    version = str(stack.events.get().pk) if seen == "latest" else seen
    answer = send(signed_in, f"/stacks/{stack.code}/readings/new/", VALUES, **{"X-Drystack-Seen": version})
    assert "split off" not in said(answer)
