"""A board's own tag leads to its stack, in loading and unloading; a stack of another charge says of which."""

import pytest

from tests.factories import BoardFactory, PlaceFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack
from tests.kilnruns.test_views_loading import check_in, words
from yard.actions.stacks import join
from yard.actions.tags import replace
from yard.models.tagcode import shown

pytestmark = pytest.mark.django_db


def spaced(code):
    return shown(code).replace("\u202f", " ")


def test_a_boards_tag_checks_its_stack_in_and_says_so(signed_in):
    board = BoardFactory(stack=ready_stack())
    charge = charge_of(board.stack, ready_stack())
    text = words(check_in(signed_in, charge, board.code, follow=True))
    assert f"Board {spaced(board.code)} lies in this stack. {spaced(board.stack.code)} is in." in text
    assert charge.stacks.get(stack=board.stack).loaded_at
    assert "1 of 2 in" in text


def test_a_stacks_own_tag_says_nothing_of_boards(signed_in):
    board = BoardFactory(stack=ready_stack())
    assert "Board " not in words(check_in(signed_in, charge_of(board.stack), board.stack.code, follow=True))


def test_a_boards_tag_that_was_replaced_does_too(signed_in, user):
    board = BoardFactory(stack=ready_stack())
    charge, old = charge_of(board.stack), board.code
    replace(board=board, by=user, at="2026-01-01T10:00Z")
    check_in(signed_in, charge, old)
    assert charge.stacks.get().loaded_at


def test_a_board_of_a_stack_that_was_joined_leads_to_what_it_lies_in_now(signed_in, user):
    board = BoardFactory(stack=ready_stack())
    last = ready_stack(species=board.stack.species, thickness_mm=board.stack.thickness_mm, place=board.stack.place)
    join(stack=board.stack, into=last, by=user, at="2026-01-01T10:00Z")
    charge = charge_of(last)
    check_in(signed_in, charge, board.code)
    assert charge.stacks.get().loaded_at


def test_a_board_of_a_stack_outside_the_charge_is_refused_at_its_field(signed_in):
    board = BoardFactory(stack=ready_stack())
    charge = charge_of()
    response = check_in(signed_in, charge, board.code)
    assert response.status_code == 422
    assert f"{spaced(board.stack.code)} is not in this charge" in words(response)
    assert response.context["form"]["code"].value() == board.code


def test_a_stack_of_another_charge_says_which_and_in_which_kiln(signed_in):
    stack = ready_stack()
    other = charge_of(stack, kiln=KilnFactory(place__name="Long kiln"), start_on=days_from_today(3))
    response = check_in(signed_in, charge_of(), stack.code)
    assert response.status_code == 422
    day = f"{other.start_on.day} {other.start_on:%B}"
    assert f"{spaced(stack.code)} is of another charge: Long kiln, {day}. Leave it out here." in words(response)


def test_a_charge_that_was_called_off_is_none_to_name(signed_in):
    stack = ready_stack()
    charge_of(stack, called_off_at="2026-01-01T10:00Z")
    assert "is not in this charge" in words(check_in(signed_in, charge_of(), stack.code))


def test_a_boards_tag_takes_its_stack_back_and_checks_it_out(signed_in):
    store = PlaceFactory(name="Dry store", kind="closed_store")
    board = BoardFactory(stack=ready_stack())
    charge = charge_of(board.stack)
    check_in(signed_in, charge, board.code)
    text = words(signed_in.post(f"/charges/{charge.pk}/loading/back/", {"code": board.code}, follow=True))
    assert f"Board {spaced(board.code)} lies in this stack. {spaced(board.stack.code)} is out again." in text
    check_in(signed_in, charge, board.code)
    signed_in.post(f"/charges/{charge.pk}/start/")
    place = {"code": board.code, "place": store.pk}
    text = words(signed_in.post(f"/charges/{charge.pk}/unloading/", place, follow=True))
    assert "is out and stands in Dry store" in text
    assert charge.stacks.get().unloaded_at


def test_the_page_of_a_board_offers_to_check_its_stack_in_while_the_charge_is_in_hand(signed_in):
    board = BoardFactory(stack=ready_stack())
    charge = charge_of(board.stack)
    assert "Check this stack in" not in words(signed_in.get(f"/boards/{board.code}/"))
    signed_in.get(f"/charges/{charge.pk}/loading/")
    text = words(signed_in.get(f"/boards/{board.code}/"))
    assert "Check this stack in" in text
    assert f'name="code" value="{board.stack.code}"' in text
