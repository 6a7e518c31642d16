"""Correcting a stack."""

import pytest
from django.utils import timezone

from tests.factories import PlaceFactory, StackFactory
from yard.models import Event

pytestmark = pytest.mark.django_db


@pytest.fixture
def stack():
    return StackFactory(lines=[(4000, 150, 40), (2453, 120, 3)], value_per_m3=480)


@pytest.fixture
def form_of(signed_in):
    """What the browser would send back, untouched."""

    def read(stack):
        context = signed_in.get(f"/stacks/{stack.code}/edit/").context
        form, tally = context["form"], context["tally"]
        bound = [*form, *[field for row in tally.rows for field in row]]
        values = {field.html_name: field.value() for field in bound}
        values["cut_on"] = values["cut_on"].isoformat()
        sent = {name: "" if value is None else str(value) for name, value in values.items()}
        return sent | {"rows": str(tally.row_count), "keep": "1"}

    return read


def test_the_form_sent_back_untouched_changes_nothing(signed_in, stack, form_of):
    response = signed_in.post(f"/stacks/{stack.code}/edit/", form_of(stack))
    assert response["Location"] == f"/stacks/{stack.code}/"
    assert not stack.events.exists()


def test_a_correction_is_kept_with_what_stood_there_before(signed_in, user, stack, form_of):
    sent = form_of(stack) | {"thickness_mm": "32", "line-0-count": "38", "note": "one wet end"}
    signed_in.post(f"/stacks/{stack.code}/edit/", sent)
    stack.refresh_from_db()
    assert (stack.thickness_mm, stack.board_count, stack.note) == (32, 41, "one wet end")
    event = stack.events.get()
    assert (event.kind, event.by) == (Event.Kind.CORRECTED, user)
    assert event.details["changes"] == {"thickness_mm": ["27.0", "32.0"], "note": ["", "one wet end"]}
    assert event.details["tally"][1] == [[4000, 150, 38], [2453, 120, 3]]


def test_an_emptied_line_is_gone(signed_in, stack, form_of):
    gone = {"line-1-length": "", "line-1-width": "", "line-1-count": ""}
    signed_in.post(f"/stacks/{stack.code}/edit/", form_of(stack) | gone)
    assert stack.board_count == 40


def test_the_place_is_not_corrected_here(signed_in, stack, form_of):
    signed_in.post(f"/stacks/{stack.code}/edit/", form_of(stack) | {"place": str(PlaceFactory().pk)})
    was = stack.place_id
    stack.refresh_from_db()
    assert stack.place_id == was


@pytest.mark.parametrize(
    ("wrong", "said"),
    [({"thickness_mm": "2"}, "not between"), ({"line-0-count": "x"}, "whole number"), ({"cut_on": ""}, "required")],
)
def test_a_wrong_value_is_refused_and_the_stack_left(signed_in, stack, form_of, wrong, said):
    response = signed_in.post(f"/stacks/{stack.code}/edit/", form_of(stack) | wrong)
    assert response.status_code == 422
    assert said in response.content.decode()
    assert not stack.events.exists()


def test_more_lines_keep_what_was_typed(signed_in, stack, form_of):
    sent = form_of(stack) | {"note": "half typed", "more": "1"}
    del sent["keep"]
    response = signed_in.post(f"/stacks/{stack.code}/edit/", sent)
    assert response.status_code == 200
    assert "half typed" in response.content.decode()
    stack.refresh_from_db()
    assert stack.note == ""


def test_a_stack_that_is_gone_can_not_be_corrected(signed_in):
    stack = StackFactory(used_at=timezone.now())
    assert signed_in.get(f"/stacks/{stack.code}/edit/").status_code == 404
