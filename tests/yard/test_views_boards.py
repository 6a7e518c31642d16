"""Boards with a tag of their own."""

import pytest

from tests.factories import BoardFactory, ReadingFactory, StackFactory, TagFactory
from yard.models import Board

pytestmark = pytest.mark.django_db


def test_a_board_of_a_stack_gets_the_blank_tag_at_hand(signed_in):
    stack, blank = StackFactory(), TagFactory()
    typed = {"length": "3,2", "width": "420", "note": "burl", "code": blank.code}
    response = signed_in.post(f"/stacks/{stack.code}/boards/", typed)
    board = Board.objects.get()
    assert response["Location"] == f"/boards/{blank.code}/"
    assert (board.stack, board.code, board.length_mm, board.width_mm, board.note) == (
        stack,
        blank.code,
        3200,
        420,
        "burl",
    )


def test_without_a_tag_at_hand_a_fresh_one_is_made(signed_in):
    stack = StackFactory()
    signed_in.post(f"/stacks/{stack.code}/boards/", {"length": "3.2", "width": "420"})
    assert Board.objects.get().tags.count() == 1


def test_a_blank_tag_becomes_a_board_in_a_chosen_stack(signed_in):
    stack, blank = StackFactory(), TagFactory()
    response = signed_in.post(f"/t/{blank.code}/board/", {"stack": stack.pk, "length": "3.2", "width": "420"})
    assert response["Location"] == f"/boards/{blank.code}/"
    assert Board.objects.get().stack == stack


def test_a_tag_that_hangs_somewhere_becomes_no_board(signed_in):
    stack = StackFactory()
    assert signed_in.get(f"/t/{stack.code}/board/")["Location"] == f"/t/{stack.code}"


@pytest.mark.parametrize(
    ("typed", "field"), [({"length": "320"}, "length"), ({"width": ""}, "width"), ({"code": "ABC"}, "code")]
)
def test_a_wrong_value_is_told_at_its_field(signed_in, typed, field):
    stack = StackFactory()
    response = signed_in.post(f"/stacks/{stack.code}/boards/", {"length": "3.2", "width": "420"} | typed)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]
    assert not Board.objects.exists()


def test_a_tag_in_use_is_refused(signed_in):
    stack = StackFactory()
    typed = {"length": "3.2", "width": "420", "code": stack.code}
    response = signed_in.post(f"/stacks/{stack.code}/boards/", typed)
    assert "hangs on another" in response.context["form"].errors["code"][0]


def test_the_boards_page_shows_its_own_readings_and_its_stack(signed_in):
    board = BoardFactory(note="burl")
    ReadingFactory(stack=board.stack, board=board, moisture_pct=17.5)
    page = signed_in.get(f"/boards/{board.code}/").content.decode()
    assert "burl" in page
    assert "17.5" in page
    assert f'href="/stacks/{board.stack.code}/"' in page


def test_an_unknown_board_is_not_found(signed_in):
    assert signed_in.get("/boards/23456789AB/").status_code == 404
