"""Splitting a stack and joining two."""

import pytest

from tests.factories import StackFactory
from yard.models import Stack

pytestmark = pytest.mark.django_db


@pytest.fixture
def stack():
    return StackFactory(lines=[(4000, 150, 40), (3000, 120, 10)])


def test_boards_of_each_line_go_to_a_new_stack_whose_tag_can_be_printed(signed_in, stack):
    response = signed_in.post(f"/stacks/{stack.code}/split/", {"take-0": "15", "take-1": "10"})
    part = Stack.objects.get(split_from=stack)
    assert response["Location"] == f"/stacks/{part.code}/split/done/"
    page = signed_in.get(response["Location"]).content.decode()
    assert (part.board_count, stack.board_count) == (25, 25)
    assert f'href="/stacks/{part.code}/label.pdf"' in page


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Say how many"),
        ({"take-0": "0"}, "Say how many"),
        ({"take-0": "41"}, "There are only 40"),
        ({"take-0": "-1"}, "from 0 to 40."),
        ({"take-0": "some"}, "Write how many"),
        ({"take-0": "40", "take-1": "10"}, "That is the whole stack"),
    ],
)
def test_a_split_that_makes_no_sense_is_refused_and_what_was_typed_stays(signed_in, stack, typed, said):
    response = signed_in.post(f"/stacks/{stack.code}/split/", typed)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert all(f'value="{text}"' in response.content.decode() for text in typed.values())
    assert Stack.objects.count() == 1


def test_a_part_shows_what_it_was_split_from_and_another_stack_has_no_such_page(signed_in, stack):
    assert signed_in.get(f"/stacks/{stack.code}/split/done/").status_code == 404


def test_a_stack_is_laid_on_one_of_its_kind(signed_in, stack):
    into = StackFactory(species=stack.species)
    response = signed_in.post(f"/stacks/{stack.code}/join/", {"into": into.code.lower()})
    assert response["Location"] == f"/stacks/{into.code}/"
    assert into.board_count == 90


def test_only_those_that_fit_are_offered_and_neighbours_first(signed_in, stack):
    far = StackFactory(species=stack.species)
    near = StackFactory(species=stack.species, place=stack.place)
    StackFactory(species=stack.species, thickness_mm=40)
    StackFactory(species=stack.species, set_aside_for="a table")
    StackFactory()
    assert signed_in.get(f"/stacks/{stack.code}/join/").context["others"] == [near, far]


@pytest.mark.parametrize(
    ("other", "said"),
    [({}, "of one species"), ({"thickness_mm": 40}, "of one thickness"), ({"set_aside_for": "a table"}, "a table")],
)
def test_unlike_stacks_are_not_joined_and_it_is_said_why(signed_in, stack, other, said):
    into = StackFactory(**({"species": stack.species} if other else {}), **other)
    response = signed_in.post(f"/stacks/{stack.code}/join/", {"into": into.code})
    assert response.status_code == 422
    assert said in response.context["form"].errors["into"][0]
    assert Stack.objects.standing().count() == 2


@pytest.mark.parametrize(("typed", "said"), [("", "required"), ("ABC", "10 characters"), ("23456789AB", "")])
def test_a_code_that_is_no_stacks_is_refused(signed_in, stack, typed, said):
    response = signed_in.post(f"/stacks/{stack.code}/join/", {"into": typed})
    assert response.status_code == 422
    assert said in response.context["form"].errors["into"][0]
