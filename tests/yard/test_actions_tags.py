"""Tags: blank ones, and replacing a lost one."""

from datetime import UTC, datetime

import pytest
from django.core.exceptions import ValidationError

from tests.factories import BoardFactory, StackFactory, TagFactory, UserFactory
from yard.actions.boards import make_board
from yard.actions.tags import make_blank, replace
from yard.models import Event, Tag
from yard.models.tagcode import check

pytestmark = pytest.mark.django_db
NOW = datetime(2025, 6, 1, 10, tzinfo=UTC)


def test_blank_tags_have_different_codes_that_pass_the_check():
    user = UserFactory()
    tags = make_blank(count=20, by=user)
    assert len({tag.code for tag in tags}) == 20
    assert all(check(tag.code) == tag.code for tag in tags)
    assert set(Tag.objects.blank()) == set(tags)
    assert all(tag.made_by == user for tag in Tag.objects.all())


@pytest.mark.parametrize("count", [0, -1, 501])
def test_no_tags_or_too_many_are_refused(count):
    with pytest.raises(ValidationError):
        make_blank(count=count, by=UserFactory())
    assert not Tag.objects.exists()


def test_a_lost_tag_of_a_stack_points_to_the_fresh_one():
    stack, user = StackFactory(), UserFactory()
    old = stack.tags.get()
    new = replace(stack=stack, by=user, at=NOW)
    old.refresh_from_db()
    stack.refresh_from_db()
    assert old.replaced_by == new
    assert old.replaced_at == NOW
    assert stack.code == new.code != old.code
    event = stack.events.get()
    assert (event.kind, event.by, event.details) == (Event.Kind.RETAGGED, user, {"old": old.code, "new": new.code})


def test_a_blank_tag_at_hand_takes_the_place_of_a_lost_one():
    stack, blank = StackFactory(), TagFactory()
    assert replace(stack=stack, by=UserFactory(), at=NOW, code=blank.code) == blank
    stack.refresh_from_db()
    assert stack.code == blank.code
    assert not Tag.objects.blank().exists()


def test_a_tag_that_hangs_elsewhere_can_not_replace_and_nothing_changes():
    stack, other = StackFactory(), StackFactory()
    with pytest.raises(ValidationError, match="hangs on another"):
        replace(stack=stack, by=UserFactory(), at=NOW, code=other.code)
    assert stack.tags.get().replaced_by is None


def test_a_code_that_no_tag_bears_can_not_replace():
    with pytest.raises(ValidationError, match="No tag of this yard"):
        replace(stack=StackFactory(), by=UserFactory(), at=NOW, code="2222222222")


def test_a_boards_lost_tag_is_replaced_and_its_stack_remembers():
    board = BoardFactory()
    new = replace(board=board, by=UserFactory(), at=NOW)
    board.refresh_from_db()
    assert board.code == new.code
    assert board.stack.events.get().kind == Event.Kind.RETAGGED


def test_a_blank_tag_becomes_a_boards_tag():
    stack, blank = StackFactory(), TagFactory()
    board = make_board(stack=stack, length_mm=3200, width_mm=410, code=blank.code, by=UserFactory(), at=NOW)
    blank.refresh_from_db()
    assert (blank.board, board.code, board.stack) == (board, blank.code, stack)
    assert stack.board_count == 40


def test_no_board_gets_a_tag_in_a_stack_that_is_gone():
    stack = StackFactory(used_at=NOW)
    with pytest.raises(ValidationError, match="no longer"):
        make_board(stack=stack, length_mm=3200, width_mm=410, by=UserFactory(), at=NOW)
    assert not Tag.objects.blank().exists()
