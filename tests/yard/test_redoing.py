"""What was taken back is done again with one tap, and taken back again; each by whom it is still open to."""

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from tests.factories import PlaceFactory, StackFactory, UserFactory
from yard.actions import places, stacks
from yard.actions.people import set_role
from yard.actions.undoing import last_undoable, last_undone, undo
from yard.models import Change, Role

pytestmark = pytest.mark.django_db


def now():
    return timezone.now()


@pytest.fixture
def person():
    return UserFactory()


@pytest.fixture
def moved(person):
    """A stack, where it stood and where it was moved."""
    stack, place = StackFactory(), PlaceFactory()
    was = stack.place
    stacks.move(stacks=[stack], place=place, by=person, at=now())
    return stack, was, place


def where(stack):
    stack.refresh_from_db()
    return stack.place


def test_there_and_back_as_often_as_one_likes(person, moved):
    stack, was, place = moved
    change = Change.objects.get()
    for turn in range(3):
        back = undo(change=change, by=person, at=now())
        assert (where(stack), back.kind, back.undoes) == (was, "undone", change), turn
        assert last_undone("stack", stack.pk, person, now()) == back
        change = undo(change=back, by=person, at=now())
        assert (where(stack), change.kind, change.undoes) == (place, "moved", back), turn
        assert last_undoable("stack", stack.pk, person, now()) == change
        assert last_undone("stack", stack.pk, person, now()) is None
    assert [event.kind for event in stack.events.order_by("pk")][-2:] == ["undone", "redone"]


def test_what_has_come_since_stands_against_it(person, moved):
    stack, _was, _place = moved
    back = undo(change=Change.objects.get(), by=person, at=now())
    stack.refresh_from_db()
    stacks.move(stacks=[stack], place=PlaceFactory(), by=UserFactory(), at=now())
    with pytest.raises(ValidationError, match="Since then: moved"):
        undo(change=back, by=person, at=now())


def test_nobody_does_again_what_another_took_back(person, moved):
    back = undo(change=Change.objects.get(), by=person, at=now())
    with pytest.raises(ValidationError, match="Only who did it"):
        undo(change=back, by=UserFactory(), at=now())


def test_the_pages_offer_it_and_say_it(person, moved):
    stack, _was, place = moved
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    page = client.post(f"/undo/{Change.objects.get().pk}/", follow=True).content.decode()
    back = Change.objects.get(kind="undone")
    assert f"/undo/{back.pk}/" in page
    assert "Do it again" in page
    assert "You took back: moved" in client.get(f"/stacks/{stack.code}/history/").content.decode()
    said = client.post(f"/undo/{back.pk}/", follow=True).content.decode()
    assert "Done again: moved." in said
    assert where(stack) == place
    assert "Done again" in client.get(f"/stacks/{stack.code}/history/").content.decode()


def test_who_may_no_longer_do_it_takes_nothing_back(person, moved):
    stack, _was, place = moved
    set_role(person=person, role=Role.GUEST, by=None)
    guest = type(person).objects.get(pk=person.pk)
    with pytest.raises(ValidationError, match="may not change this any more"):
        undo(change=Change.objects.get(kind="moved"), by=guest, at=now())
    assert last_undoable("stack", stack.pk, guest, now()) is None
    assert where(stack) == place


def test_a_hand_takes_back_no_decision_made_as_an_operator(person):
    place = PlaceFactory()
    place.name = "Far shed"
    places.keep_place(place=place, by=person)
    change = Change.objects.get(kind="place_changed")
    set_role(person=person, role=Role.HAND, by=None)
    with pytest.raises(ValidationError, match="may not change this any more"):
        undo(change=change, by=type(person).objects.get(pk=person.pk), at=now())


def test_who_may_no_longer_do_it_is_told_so_where_it_was_taken_back(person, moved):
    place = PlaceFactory()
    place.name = "Far shed"
    places.keep_place(place=place, by=person)
    undo(change=Change.objects.get(kind="place_changed"), by=person, at=now())
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    assert "Do it again" in client.get(f"/history/place/{place.pk}/").content.decode()
    set_role(person=person, role=Role.HAND, by=None)
    page = client.get(f"/history/place/{place.pk}/").content.decode()
    assert "You took back: place changed" in page and "You may not change this any more" in page
    assert "Do it again" not in page
