"""Dated notes on a stack."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import StackFactory
from tests.yard.outbox import send
from yard.models import Event

pytestmark = pytest.mark.django_db


def test_a_note_goes_into_the_history_and_onto_the_stack_s_page(signed_in, user):
    stack = StackFactory()
    answer = signed_in.post(f"/stacks/{stack.code}/note/", {"note": "Stickers moved\nby the wind"})
    assert answer["Location"] == f"/stacks/{stack.code}/"
    event = stack.events.get()
    assert (event.kind, event.details, event.by) == (Event.Kind.NOTED, {"text": "Stickers moved\nby the wind"}, user)
    for page in ("", "history/"):
        assert "Stickers moved<br>by the wind" in signed_in.get(f"/stacks/{stack.code}/{page}").content.decode()


def test_notes_add_up_and_the_page_shows_the_latest_three(signed_in):
    stack = StackFactory()
    for number in range(4):
        signed_in.post(f"/stacks/{stack.code}/note/", {"note": f"note number {number}"})
    page = signed_in.get(f"/stacks/{stack.code}/").content.decode()
    assert [f"note number {number}" in page for number in range(4)] == [False, True, True, True]


def test_a_note_kept_on_a_phone_has_its_own_time(signed_in):
    stack, now = StackFactory(), timezone.now()
    taken = now - timedelta(hours=5)
    headers = {"X-Drystack-Taken-At": taken.isoformat(), "X-Drystack-Sent-At": now.isoformat()}
    send(signed_in, f"/stacks/{stack.code}/note/", {"note": "a crack"}, **headers)
    assert abs(stack.events.get().at - taken) < timedelta(minutes=1)


@pytest.mark.parametrize("note", ["", "   ", "x" * 2001])
def test_no_note_or_a_book_is_refused_and_stays_as_typed(signed_in, note):
    stack = StackFactory()
    answer = signed_in.post(f"/stacks/{stack.code}/note/", {"note": note})
    assert answer.status_code == 422
    assert answer.context["form"]["note"].value() == note
    assert not stack.events.exists()
