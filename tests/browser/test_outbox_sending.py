"""Sent when it can be, in order, and applied once, whatever is lost on the way."""

import pytest

from tests.browser.outbox_pages import (
    KEEP,
    all_gone,
    fill_reading,
    header_says,
    in_store,
    record_reading,
    record_without_reception,
)
from tests.factories import StackFactory
from yard.models import Reading


@pytest.fixture
def stack(live_server):
    return StackFactory()


def reading(stack, moisture="18"):
    return {
        "path": f"/stacks/{stack.code}/readings/new/",
        "fields": [["method", "pins"], ["values", moisture]],
        "subject": stack.code,
    }


def test_an_answer_that_is_lost_makes_it_be_sent_again_and_applied_once(visit, stack, losses):
    page = visit()
    losses.next("answer lost", "answer lost", "answer lost")
    record_reading(page, stack)
    all_gone(page)
    assert len(losses.sent) == 4
    assert len(set(losses.sent)) == 1
    assert Reading.objects.count() == 1


def test_a_server_out_of_order_is_tried_again_less_and_less_often(visit, stack, losses):
    page = visit()
    losses.next("503", "503", "503")
    fill_reading(page, stack, "18")
    page.evaluate(
        """() => {
          window.pauses = [];
          const real = window.setTimeout;
          window.setTimeout = (work, pause) => {
            if (work.name === "send") window.pauses.push(pause);
            return real(work, pause);
          };
        }"""
    )
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("It is sent when there is reception").wait_for()
    all_gone(page)
    assert page.evaluate("pauses") == [1000, 2000, 4000]
    assert len(losses.sent) == 4
    assert Reading.objects.count() == 1


def test_a_fault_of_the_server_with_one_does_not_hold_up_other_stacks(visit, stack, losses, owner):
    other = StackFactory()
    page = visit()
    page.goto("/")
    losses.decide = lambda request: "500" if stack.code in request.path else "pass"
    page.evaluate(KEEP, [str(owner.pk), [reading(stack), reading(stack, "19"), reading(other)]])
    page.reload()
    header_says(page, "2 waiting")
    assert Reading.objects.get().stack == other
    losses.decide = lambda request: "pass"
    all_gone(page)
    assert [found.raw for found in Reading.objects.filter(stack=stack).order_by("pk")] == [[18], [19]]


def test_two_tabs_send_each_thing_once(visit, stack, losses, owner):
    page = visit()
    page.goto("/")
    other = visit(page)
    other.goto("/yard/")
    page.context.set_offline(True)
    page.evaluate(KEEP, [str(owner.pk), [reading(stack, str(moisture)) for moisture in range(12, 20)]])
    header_says(page, "8 waiting")
    header_says(other, "8 waiting")  # heard from the other tab
    page.context.set_offline(False)
    all_gone(page)
    all_gone(other)
    assert len(losses.sent) == len(set(losses.sent)) == 8
    assert [found.raw[0] for found in Reading.objects.order_by("pk")] == list(range(12, 20))


def test_the_moment_is_that_of_the_recording(visit, stack, owner):
    page = visit()
    page.goto("/")
    early = {**reading(stack), "takenAt": page.evaluate("new Date(Date.now() - 3 * 3600e3).toISOString()")}
    page.evaluate(KEEP, [str(owner.pk), [early]])
    page.reload()
    all_gone(page)
    found = Reading.objects.get()
    assert 2.9 < (found.made_at - found.taken_at).total_seconds() / 3600 < 3.1


def test_an_expired_session_keeps_all_until_the_same_person_signs_in(visit, stack, losses, owner):
    from django.contrib.sessions.models import Session

    from tests.factories import PASSWORD

    page = visit()
    fill_reading(page, stack, "18")
    Session.objects.all().delete()
    page.get_by_role("button", name="Keep").click()
    header_says(page, "1 waiting · sign in to send")
    assert len(in_store(page)) == 1
    page.goto("/sign-in/")
    page.get_by_label("Username").fill(owner.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/")
    all_gone(page)
    assert Reading.objects.get().made_by == owner


def test_coming_back_to_the_screen_sends(visit, stack, losses):
    page = visit()
    record_without_reception(page, stack)
    page.evaluate("window.setTimeout = () => 0")  # the timer is not it
    page.context.set_offline(False)
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    all_gone(page)
    assert Reading.objects.count() == 1
