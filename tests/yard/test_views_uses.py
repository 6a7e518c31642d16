"""A stack that is used up."""

import pytest

from tests.factories import StackFactory
from yard.models import Stack

pytestmark = pytest.mark.django_db


def test_a_used_stack_leaves_the_yard_and_says_what_for(signed_in):
    stack = StackFactory()
    signed_in.post(f"/stacks/{stack.code}/use/", {"for_what": "the barn floor"})
    stack.refresh_from_db()
    assert stack.used_for == "the barn floor"
    assert not Stack.objects.standing().exists()


def test_it_is_put_back_when_that_was_a_mistake(signed_in):
    stack = StackFactory()
    signed_in.post(f"/stacks/{stack.code}/use/", {"for_what": "the barn floor"})
    assert "the barn floor" in signed_in.get(f"/stacks/{stack.code}/use/").content.decode()
    signed_in.post(f"/stacks/{stack.code}/use/", {"put_back": "1"})
    assert Stack.objects.standing().get() == stack


def test_what_for_must_be_said(signed_in):
    stack = StackFactory()
    response = signed_in.post(f"/stacks/{stack.code}/use/", {"for_what": " "})
    assert response.status_code == 422
    assert Stack.objects.standing().exists()


def test_using_it_twice_is_refused(signed_in):
    stack = StackFactory()
    signed_in.post(f"/stacks/{stack.code}/use/", {"for_what": "the barn floor"})
    response = signed_in.post(f"/stacks/{stack.code}/use/", {"for_what": "firewood"})
    assert response.status_code == 422
    stack.refresh_from_db()
    assert stack.used_for == "the barn floor"


def test_putting_back_what_stands_is_no_change(signed_in):
    stack = StackFactory()
    assert signed_in.post(f"/stacks/{stack.code}/use/", {"put_back": "1"}).status_code == 422
    assert not stack.events.exists()
