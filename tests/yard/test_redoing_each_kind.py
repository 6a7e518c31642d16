"""What is taken back by an action of its own is done again too, and taken back once more: readings, parts, photos."""

from io import BytesIO

import pytest
from django.core.exceptions import ValidationError
from django.core.files.base import ContentFile
from django.utils import timezone
from PIL import Image

from tests.factories import StackFactory, UserFactory
from yard.actions import photos, readings, stacks
from yard.actions.undoing import undo
from yard.changes.kinds import UNDONE, _kinds, kind_of
from yard.models import Change, Photo, Stack

pytestmark = pytest.mark.django_db


def now():
    return timezone.now()


def picture():
    out = BytesIO()
    Image.new("RGB", (60, 40), "peru").save(out, "PNG")
    return ContentFile(out.getvalue())


@pytest.fixture
def owner():
    return UserFactory(is_staff=True)


def read(owner):
    stack = StackFactory()
    reading = readings.add_reading(stack=stack, method="pins", raw=[20.0], taken_at=now(), by=owner)
    return lambda: stack.readings.valid().filter(pk=reading.pk).exists()


def split(owner):
    stack = StackFactory(lines=[(4000, 150, 40)])
    part = stacks.split(stack=stack, lines=[(4000, 150, 10)], by=owner, at=now())

    def is_done():
        apart = Stack.objects.get(pk=part.pk).joined_into is None
        return apart and [stacks.tally(one) for one in (stack, part)] == [[(4000, 150, 30)], [(4000, 150, 10)]]

    return is_done


def photo_added(owner):
    photo = photos.add_photo(stack=StackFactory(), file=picture(), by=owner)
    return lambda: Photo.objects.shown().filter(pk=photo.pk).exists()


ACTS = {"read": read, "split": split, "photo_added": photo_added}


def there_and_back(kind, owner, is_done):
    """Taken back and done again, twice."""
    change = Change.objects.get(kind=kind, undoes=None)
    assert is_done()
    for turn in range(2):
        back = undo(change=change, by=owner, at=now())
        assert (back.kind, is_done()) == (UNDONE, False), turn
        change = undo(change=back, by=owner, at=now())
        assert (change.kind, is_done()) == (kind, True), turn


@pytest.mark.parametrize("kind", ACTS)
def test_taken_back_and_done_again_as_often_as_one_likes(owner, kind):
    there_and_back(kind, owner, ACTS[kind](owner))


def test_each_opposite_is_a_kind_that_can_be_taken_back_itself():
    """Without one, what an action of its own took back could not be done again."""
    for name, kind in _kinds.items():
        assert bool(kind.inverse) == bool(kind.opposite), name
        if kind.opposite:
            assert kind_of(kind.opposite).undone and not kind_of(kind.opposite).inverse, name


def test_a_photo_that_was_deleted_for_good_does_not_come_back(owner):
    photo = photos.add_photo(stack=StackFactory(), file=picture(), by=owner)
    back = undo(change=Change.objects.get(kind="photo_added"), by=owner, at=now())
    photo.refresh_from_db()
    photos.delete_photo(photo=photo, reason="A face", by=owner, at=now())
    with pytest.raises(ValidationError, match="Since then: photo deleted for good"):
        undo(change=back, by=owner, at=now())


def test_a_photo_taken_out_of_sight_by_somebody_is_not_taken_out_twice(owner):
    photo = photos.add_photo(stack=StackFactory(), file=picture(), by=owner)
    change = Change.objects.get(kind="photo_added")
    photos.remove_photo(photo=photo, by=UserFactory(), at=now())
    with pytest.raises(ValidationError, match="removed already"):
        undo(change=change, by=owner, at=now())
