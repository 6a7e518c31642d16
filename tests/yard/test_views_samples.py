"""Sample boards of a stack."""

import pytest
from django.utils import timezone

from tests.factories import StackFactory
from tests.yard.queries import queries_of
from yard.actions.readings import add_reading
from yard.models import SampleBoard

pytestmark = pytest.mark.django_db


def cut(client, stack, **data):
    fields = {"label": "A", "green_mass_g": "3200", "wet_1": "68", "dry_1": "40", "made_on": "2025-05-01", **data}
    return client.post(f"/stacks/{stack.code}/samples/", fields)


def text_of(answer):
    return answer.content.decode().replace("\u202f", " ")


def test_the_oven_dry_mass_follows_from_both_sections(signed_in):
    stack = StackFactory()
    assert cut(signed_in, stack, wet_2="66,0", dry_2="40").url == f"/stacks/{stack.code}/samples/"
    board = SampleBoard.objects.get()
    # mean of 70 and 65 %: 3200 / 1.675 (USDA AH-188 ch. 6)
    assert board.oven_dry_mass_g == pytest.approx(1910.4, abs=0.1)
    assert board.section_masses_g == [[68, 40], [66, 40]]


def test_its_weighings_are_shown_and_it_can_be_weighed_again(signed_in, user):
    stack = StackFactory()
    cut(signed_in, stack)  # 70 %: oven-dry 1882 g
    masses = {"method": "sample_board", "sample_labels": ["A"], "raw": [2400]}
    add_reading(stack=stack, taken_at=timezone.now(), by=user, **masses)
    text = text_of(signed_in.get(f"/stacks/{stack.code}/samples/"))
    assert "2400 g" in text
    assert "27.5 %" in text
    assert "?method=sample_board" in text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"label": ""}, "This field is required"),
        ({"label": "a"}, "has a sample board a already"),
        ({"green_mass_g": "0"}, "greater than or equal to 1"),
        ({"wet_1": ""}, "This field is required"),
        ({"wet_2": "60"}, "The other mass is missing"),
        ({"wet_1": "30"}, "are the two swapped?"),
        ({"wet_1": "680"}, "No wood is that wet"),
    ],
)
def test_what_no_board_can_have_is_refused_at_its_field(signed_in, data, words):
    stack = StackFactory()
    cut(signed_in, stack)
    answer = cut(signed_in, stack, **{"label": "B", **data})
    assert answer.status_code == 422
    assert words in text_of(answer)
    assert SampleBoard.objects.count() == 1


def test_two_stacks_may_each_have_a_board_a(signed_in):
    for _number in range(2):
        assert cut(signed_in, StackFactory()).status_code == 302


def test_three_and_thirty_boards_take_the_same_queries(signed_in):
    def stack_with(boards):
        stack = StackFactory()
        for number in range(boards):
            cut(signed_in, stack, label=f"{number}")
        return f"/stacks/{stack.code}/samples/"

    few, many = stack_with(3), stack_with(30)
    assert queries_of(signed_in, few) == queries_of(signed_in, many)


def test_no_such_stack_is_not_found(signed_in):
    assert signed_in.get("/stacks/22222222XX/samples/").status_code == 404
