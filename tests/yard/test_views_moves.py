"""Moving a stack."""

import pytest
from django.utils import timezone

from tests.factories import KilnPlaceFactory, PlaceFactory, StackFactory

pytestmark = pytest.mark.django_db


def test_tapping_a_place_moves_the_stack_there(signed_in, user):
    stack, place = StackFactory(), PlaceFactory()
    response = signed_in.post(f"/stacks/{stack.code}/move/", {"place": place.pk})
    stack.refresh_from_db()
    assert response["Location"] == f"/stacks/{stack.code}/"
    assert stack.place == place
    assert stack.events.get().by == user


def test_every_place_in_use_but_its_own_is_a_button_and_kilns_come_last(signed_in):
    kiln, stack, other = KilnPlaceFactory(name="A kiln"), StackFactory(), PlaceFactory()
    PlaceFactory(name="Old shed", given_up=True)
    assert signed_in.get(f"/stacks/{stack.code}/move/").context["places"] == [other, kiln]


def test_out_of_a_kiln_one_says_that_it_is_dry(signed_in):
    stack, shed = StackFactory(place=KilnPlaceFactory()), PlaceFactory()
    signed_in.post(f"/stacks/{stack.code}/move/", {"place": shed.pk, "kiln_dried": "on"})
    stack.refresh_from_db()
    assert (stack.place, stack.kiln_dried_on) == (shed, timezone.localdate())


def test_elsewhere_nobody_can_say_that_it_is_dry(signed_in):
    stack, shed = StackFactory(), PlaceFactory()
    signed_in.post(f"/stacks/{stack.code}/move/", {"place": shed.pk, "kiln_dried": "on"})
    stack.refresh_from_db()
    assert stack.kiln_dried_on is None


@pytest.mark.parametrize("place", ["", "0", "shed"])
def test_no_place_or_an_unknown_one_is_refused(signed_in, place):
    stack = StackFactory()
    response = signed_in.post(f"/stacks/{stack.code}/move/", {"place": place})
    assert response.status_code == 422
    assert response.context["form"].errors["place"]


def test_a_place_that_was_given_up_is_refused(signed_in):
    stack, place = StackFactory(), PlaceFactory(given_up=True)
    response = signed_in.post(f"/stacks/{stack.code}/move/", {"place": place.pk})
    assert "no longer used" in response.content.decode()


def test_a_used_stack_is_not_moved(signed_in):
    stack = StackFactory(used_at=timezone.now())
    assert signed_in.post(f"/stacks/{stack.code}/move/", {"place": PlaceFactory().pk}).status_code == 404
