"""What a scanned tag opens."""

from datetime import UTC, datetime

import pytest

from tests.factories import PASSWORD, BoardFactory, SpeciesFactory, StackFactory, TagFactory
from yard.actions.stacks import join
from yard.actions.tags import replace
from yard.models.tagcode import new_code

pytestmark = pytest.mark.django_db
NOW = datetime(2025, 6, 1, 10, tzinfo=UTC)


def test_a_blank_tag_offers_a_new_stack(signed_in):
    tag = TagFactory()
    assert signed_in.get(f"/t/{tag.code}")["Location"] == f"/stacks/new/?tag={tag.code}"


@pytest.mark.parametrize("address", ["/T/{}", "/t/{}", "/T/{}/", "/t/{}/"])
def test_the_address_is_read_without_regard_to_case_and_closing_slash(signed_in, address):
    stack = StackFactory()
    for code in (stack.code, stack.code.lower()):
        assert signed_in.get(address.format(code))["Location"] == f"/stacks/{stack.code}/"


def test_scanning_while_signed_out_returns_to_the_tag_after_signing_in(client, user):
    code = StackFactory().code
    login = client.get(f"/T/{code}")["Location"]
    assert login == f"/sign-in/?next=/T/{code}"
    response = client.post(login, {"username": user.username, "password": PASSWORD})
    assert response["Location"] == f"/T/{code}"


def test_a_boards_tag_opens_the_board(signed_in):
    board = BoardFactory()
    assert signed_in.get(f"/t/{board.code}")["Location"] == f"/boards/{board.code}/"


def test_a_replaced_tag_says_so_and_links_to_the_new_one(signed_in, user):
    stack = StackFactory()
    old = stack.code
    new = replace(stack=stack, by=user, at=NOW)
    page = signed_in.get(f"/t/{old}")
    assert page.status_code == 200
    assert "was replaced" in page.content.decode()
    assert f'href="/t/{new.code}"' in page.content.decode()


def test_the_tag_of_a_joined_stack_leads_to_the_one_that_it_lies_in(signed_in, user):
    species = SpeciesFactory()
    first, second, third = (StackFactory(species=species) for _n in range(3))
    join(stack=first, into=second, by=user, at=NOW)
    join(stack=second, into=third, by=user, at=NOW)
    assert signed_in.get(f"/t/{first.code}")["Location"] == f"/stacks/{third.code}/"


def test_a_code_of_another_yard_is_not_found_and_can_be_typed_anew(signed_in):
    page = signed_in.get(f"/t/{new_code()}")
    assert page.status_code == 404
    assert "no tag of this yard" in page.content.decode()
    assert 'action="/scan/"' in page.content.decode()


def test_a_misspelt_code_gives_a_hint(signed_in):
    page = signed_in.get("/t/0BCDEFGHJK")
    assert page.status_code == 404
    assert "Is it D or Q?" in page.content.decode()


def test_an_address_with_anything_in_it_is_only_a_wrong_code(signed_in):
    assert signed_in.get("/t/%3Cscript%3E").status_code == 404
    assert b"<script>" not in signed_in.get("/t/%3Cscript%3E").content.split(b"</head>")[1]
