"""The blank tag was claimed by someone else meanwhile: nothing of the second entry is lost."""

from datetime import timedelta

import pytest
from django.utils import timezone

from tests.factories import BoardFactory, PlaceFactory, StackFactory, TagFactory
from tests.yard.outbox import send
from tests.yard.test_sort_out import ago, new_stack, other, page_of, read, settle, stack
from yard.models import Board, Reading, Receipt, Stack

__all__ = ["other", "stack"]
pytestmark = pytest.mark.django_db


@pytest.fixture
def claimed(signed_in, other, stack):
    """A tag that Runa hung on a stack of 50 mm while I recorded a stack of 27 mm on it, and a reading after that."""
    tag, place = TagFactory(), PlaceFactory()
    send(other, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place, thickness_mm="50"))
    made = send(signed_in, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place, note="mine"), **ago(hours=3))
    assert made.json()["sort_out"] is True
    read(signed_in, tag.code, **ago(hours=2))
    return tag


def leader_of(tag):
    return Receipt.objects.get(subject=tag.code, why="taken")


def test_the_second_entry_is_kept_whole_and_what_followed_with_it(signed_in, claimed):
    leader = leader_of(claimed)
    assert ["note", "mine"] in leader.fields
    assert [(one.why, one.subject) for one in leader.followers.all()] == [("follows", claimed.code)]
    assert not Reading.objects.exists(), "the reading is not of Runa's stack"
    page = page_of(signed_in, leader.get_absolute_url())
    assert "Tagged by Runa" in page
    assert "50mm" in page.replace(" mm", "mm")


def test_another_stack_is_kept_under_a_fresh_tag_and_what_followed_goes_there(signed_in, user, claimed):
    leader = leader_of(claimed)
    settle(signed_in, leader, "under_tag", code="")
    mine = Stack.objects.get(note="mine")
    assert mine.code != claimed.code
    assert (mine.thickness_mm, mine.made_by) == (27, user)
    assert Reading.objects.get().stack == mine
    assert set(Receipt.objects.exclude(why="").values_list("state", "settled_code")) == {("settled", mine.code)}


def test_or_under_a_blank_tag_at_hand(signed_in, claimed):
    blank = TagFactory()
    answer = settle(signed_in, leader_of(claimed), "under_tag", code=blank.code)
    assert answer["Location"] == f"/stacks/{blank.code}/"
    assert Stack.objects.get(note="mine").code == blank.code


def test_a_tag_in_use_is_refused(signed_in, claimed):
    answer = settle(signed_in, leader_of(claimed), "under_tag", code=claimed.code)
    assert answer.status_code == 422
    assert "That tag is not blank" in answer.content.decode()
    assert Receipt.objects.to_sort_out().count() == 2


def test_the_same_stack_entered_twice_drops_the_second_and_what_followed_goes_to_the_first(signed_in, user, claimed):
    settle(signed_in, leader_of(claimed), "same")
    first = Stack.objects.get(code=claimed.code)
    assert first.thickness_mm == 50
    assert not Stack.objects.filter(note="mine").exists()
    reading = Reading.objects.get()
    assert (reading.stack, reading.made_by) == (first, user)
    assert "the second entry is dropped" in page_of(signed_in)
    settled = page_of(signed_in, Receipt.objects.get(why="taken").get_absolute_url())
    assert f'href="/stacks/{first.code}/">Go where it went' in settled


def test_what_followed_and_arrives_only_after_the_settling_goes_there_too(signed_in, claimed):
    leader = leader_of(claimed)
    settle(signed_in, leader, "under_tag", code="")
    mine = Stack.objects.get(note="mine")
    answer = read(signed_in, claimed.code, "25", **ago(hours=1))
    assert "was sorted out to be" in answer.json()["said"][0]
    assert mine.readings.count() == 2
    named = read(signed_in, claimed.code, "26", **{"X-Drystack-After": str(leader.key)})
    assert named.json()["location"] == f"/stacks/{mine.code}/"
    read(signed_in, claimed.code, "27")
    assert Stack.objects.get(code=claimed.code).readings.count() == 1, "recorded after the settling: the tag as it is"


def test_what_followed_something_dropped_is_to_be_sorted_out_itself(signed_in, claimed, stack):
    leader = leader_of(claimed)
    settle(signed_in, leader, "drop", reason="a joke")
    late = read(signed_in, claimed.code, "25", **ago(hours=1), **{"X-Drystack-After": str(leader.key)})
    receipt = Receipt.objects.get(key=late.json()["receipt"])
    assert (receipt.state, receipt.why) == ("to_sort_out", "follows")
    assert receipt.get_absolute_url() in page_of(signed_in)
    settle(signed_in, receipt, "belongs", code=stack.code)
    assert Reading.objects.get().stack == stack


def test_a_follower_that_is_not_accepted_there_stays_and_says_why(signed_in, claimed):
    """The first stack was sawn after the day that the follower says."""
    leader = leader_of(claimed)
    one = leader.followers.get()
    one.fields = [[name, "2020-01-01" if name == "taken_on" else value] for name, value in one.fields]
    one.fields.append(["taken_on", "2020-01-01"])
    one.save()
    answer = settle(signed_in, leader, "same")
    assert answer["Location"] == "/sort-out/"
    one.refresh_from_db()
    assert (one.state, one.why, one.after) == ("to_sort_out", "refused", None)
    assert "The wood was sawn on" in page_of(signed_in, one.get_absolute_url())


def test_what_can_be_mended_is_refused_to_the_phone_first(signed_in, other, stack):
    tag, place = TagFactory(), PlaceFactory()
    send(other, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place))
    answer = send(signed_in, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place, thickness_mm="thick"))
    assert (answer.status_code, list(answer.json()["errors"])) == (422, ["thickness_mm"])


def test_a_page_that_waits_for_the_answer_is_told_and_loses_nothing(signed_in, other, stack):
    tag, place = TagFactory(), PlaceFactory()
    send(other, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place))
    path = f"/stacks/new/?tag={tag.code}"
    live = {"X-Drystack-Outbox": "live"}
    assert send(signed_in, path, new_stack(stack.species, place), **live).status_code == 422
    assert not Receipt.objects.filter(subject=tag.code).exists()


def test_a_tag_that_is_none_of_this_yard_s_gets_the_stack_a_tag(signed_in, stack):
    send(signed_in, "/stacks/new/?tag=22222222XX", new_stack(stack.species, PlaceFactory(), note="mine"))
    receipt = Receipt.objects.get()
    assert receipt.why == "unknown"
    settle(signed_in, receipt, "under_tag", code="")
    assert Stack.objects.get(note="mine").tags.exists()


def test_a_board_on_a_claimed_tag_gets_another(signed_in, stack):
    taken, blank = BoardFactory(), TagFactory()
    fields = {"stack": stack.pk, "length": "3.2", "width": "420", "note": "burr"}
    assert signed_in.post(f"/t/{taken.code}/board/", fields).status_code == 422
    send(signed_in, f"/t/{taken.code}/board/", fields)
    receipt = Receipt.objects.get()
    assert receipt.why == "taken"
    settle(signed_in, receipt, "under_tag", code=blank.code)
    assert Board.objects.get(note="burr").code == blank.code


def test_a_claimed_tag_for_a_lost_one_gets_another(signed_in, stack):
    taken, blank, old = StackFactory(), TagFactory(), stack.code
    send(signed_in, f"/t/{taken.code}/replaces/", {"stack": stack.pk}, **ago(hours=1))
    settle(signed_in, Receipt.objects.get(), "under_tag", code=blank.code)
    stack.refresh_from_db()
    assert (stack.code, old != blank.code) == (blank.code, True)
    assert taken.stays.first().since < Receipt.objects.get().settled_at + timedelta(0)


def test_a_clock_that_is_years_fast_does_not_keep_it_from_being_settled(signed_in, other, stack):
    tag, place, now = TagFactory(), PlaceFactory(), timezone.now()
    send(other, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place))
    shown = now + timedelta(days=800)
    headers = {"X-Drystack-Taken-At": shown.isoformat(), "X-Drystack-Sent-At": shown.isoformat()}
    sawn = shown.date().isoformat()
    send(
        signed_in, f"/stacks/new/?tag={tag.code}", new_stack(stack.species, place, cut_on=sawn, note="mine"), **headers
    )
    leader = leader_of(tag)
    assert "The phone's clock was wrong" in page_of(signed_in, leader.get_absolute_url()).replace("&#x27;", "'")
    settle(signed_in, leader, "under_tag", code="")
    assert Stack.objects.get(note="mine").cut_on == now.date()
