"""A lost tag is replaced."""

import pytest

from tests.factories import BoardFactory, StackFactory, TagFactory
from yard.models import Tag

pytestmark = pytest.mark.django_db


def test_a_fresh_tag_is_made_and_can_be_printed(signed_in):
    stack = StackFactory()
    old = stack.code
    response = signed_in.post(f"/stacks/{old}/retag/", {"code": ""}, follow=True)
    stack.refresh_from_db()
    assert stack.code != old
    assert f'href="/stacks/{stack.code}/label.pdf"' in response.content.decode()
    assert Tag.objects.get(code=old).replaced_by.code == stack.code


def test_a_blank_tag_at_hand_is_taken_and_nothing_needs_printing(signed_in):
    stack, blank = StackFactory(), TagFactory()
    response = signed_in.post(f"/stacks/{stack.code}/retag/", {"code": blank.code}, follow=True)
    stack.refresh_from_db()
    assert stack.code == blank.code
    assert "label.pdf" not in response.content.decode()


def test_a_boards_tag_is_replaced(signed_in):
    board = BoardFactory()
    response = signed_in.post(f"/boards/{board.code}/retag/", {"code": ""}, follow=True)
    board.refresh_from_db()
    assert f'href="/boards/{board.code}/label.pdf"' in response.content.decode()


def test_a_tag_in_use_or_misspelt_is_refused(signed_in):
    stack, other = StackFactory(), StackFactory()
    for typed in (other.code, "ABC", stack.code):
        response = signed_in.post(f"/stacks/{stack.code}/retag/", {"code": typed})
        assert response.status_code == 422
        assert response.context["form"].errors["code"]
    assert Tag.objects.filter(replaced_by=None).count() == 2


def test_a_blank_tag_takes_the_place_of_a_lost_one(signed_in):
    stack, blank = StackFactory(), TagFactory()
    response = signed_in.post(f"/t/{blank.code}/replaces/", {"stack": stack.pk})
    stack.refresh_from_db()
    assert stack.code == blank.code
    assert response["Location"] == f"/t/{blank.code}"


def test_the_stack_must_be_chosen(signed_in):
    response = signed_in.post(f"/t/{TagFactory().code}/replaces/", {"stack": ""})
    assert response.status_code == 422


def test_a_tag_that_hangs_somewhere_replaces_nothing(signed_in):
    stack = StackFactory()
    assert signed_in.get(f"/t/{stack.code}/replaces/")["Location"] == f"/t/{stack.code}"


@pytest.mark.parametrize("factory", [StackFactory, BoardFactory])
def test_a_double_tap_makes_one_tag(signed_in, factory):
    bearer = factory()
    path = f"/{'stacks' if factory is StackFactory else 'boards'}/{bearer.code}/retag/"
    form = {"code": "", "key": "0b5d3c3e-5c1b-4e0c-9d58-0a4a2f6f1c11"}
    first, second = (signed_in.post(path, form) for _tap in range(2))
    assert first["Location"] == second["Location"]
    assert bearer.tags.count() == 2
