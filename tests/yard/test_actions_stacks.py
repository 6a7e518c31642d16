"""Stacks: made, corrected, moved, split, joined, used; the history of each stays."""

from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError

from tests.factories import (
    BoardFactory,
    KilnPlaceFactory,
    OutlookFactory,
    PlaceFactory,
    ReadingFactory,
    SpeciesFactory,
    StackFactory,
    TagFactory,
    UserFactory,
)
from yard import outlook
from yard.actions import stacks
from yard.models import Event, Outlook, Stack

pytestmark = pytest.mark.django_db
NOW = datetime(2025, 6, 1, 10, tzinfo=UTC)


@pytest.fixture(autouse=True)
def refreshed(monkeypatch):
    """Codes of the stacks whose forecast was asked for anew."""
    codes = []
    monkeypatch.setattr(outlook, "refresh", lambda stacks: codes.extend(stack.code for stack in stacks))
    return codes


@pytest.fixture
def user():
    return UserFactory()


def kinds(stack):
    return [event.kind for event in stack.events.all()]


def unsaved(**fields):
    defaults = {"species": SpeciesFactory(), "place": PlaceFactory(), "thickness_mm": 27, "cut_on": date(2025, 5, 30)}
    return Stack(**(defaults | fields))


def test_a_new_stack_stands_under_its_tag_with_its_tally_and_past(user):
    tag = TagFactory()
    stack = stacks.make_stack(tag=tag, stack=unsaved(), lines=[(4000, 150, 30), (3000, 120, 5)], by=user, at=NOW)
    tag.refresh_from_db()
    assert (stack.code, tag.stack, stack.made_by) == (tag.code, stack, user)
    # 27 mm x (30 x 4 m x 0.15 m + 5 x 3 m x 0.12 m), by hand
    assert stack.volume_m3 == pytest.approx(0.027 * (18 + 1.8))
    assert stack.stays.get().since == datetime(2025, 5, 30, 12, tzinfo=UTC)
    event = stack.events.get()
    assert (event.kind, event.details) == (Event.Kind.STACKED, {"boards": 35, "volume_m3": 0.5346})


def test_a_new_stack_is_forecast_once_all_is_written(user, refreshed, django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        stack = stacks.make_stack(tag=None, stack=unsaved(), lines=[(4000, 150, 30)], by=user, at=NOW)
        assert refreshed == []
    assert refreshed == [stack.code]


def test_without_a_blank_tag_a_stack_gets_a_fresh_one(user):
    stack = stacks.make_stack(tag=None, stack=unsaved(), lines=[(4000, 150, 30)], by=user, at=NOW)
    assert stack.tags.get().code == stack.code


def test_a_stay_never_begins_in_the_future(user):
    stack = stacks.make_stack(tag=None, stack=unsaved(cut_on=NOW.date()), lines=[(4000, 150, 1)], by=user, at=NOW)
    assert stack.stays.get().since == NOW


def test_a_tag_in_use_takes_no_second_stack(user):
    tag = StackFactory().tags.get()
    with pytest.raises(ValidationError, match="hangs on another"):
        stacks.make_stack(tag=tag, stack=unsaved(), lines=[(4000, 150, 30)], by=user, at=NOW)
    assert Stack.objects.count() == 1


def test_equal_lines_are_put_together(user):
    stack = stacks.make_stack(tag=None, stack=unsaved(), lines=[(4000, 150, 3), (4000, 150, 4)], by=user, at=NOW)
    assert stacks.tally(stack) == [(4000, 150, 7)]


def test_a_correction_keeps_what_stood_there_before(user):
    stack = StackFactory()
    stacks.correct(stack=stack, changes={"thickness_mm": 30.0, "note": ""}, lines=[(4000, 150, 39)], by=user, at=NOW)
    stack.refresh_from_db()
    assert (stack.thickness_mm, stack.board_count) == (30, 39)
    details = stack.events.get().details
    assert details == {"changes": {"thickness_mm": ["27", "30.0"]}, "tally": [[[4000, 150, 40]], [[4000, 150, 39]]]}


def test_correcting_nothing_leaves_no_line_in_the_history(user, refreshed, django_capture_on_commit_callbacks):
    stack = StackFactory()
    with django_capture_on_commit_callbacks(execute=True):
        stacks.correct(stack=stack, changes={"thickness_mm": 27}, lines=[(4000, 150, 40)], by=user, at=NOW)
    assert (kinds(stack), refreshed) == ([], [])


def test_a_move_is_kept_as_a_stay_and_in_the_history(user, refreshed, django_capture_on_commit_callbacks):
    stack, place = StackFactory(), PlaceFactory()
    was = stack.place.name
    with django_capture_on_commit_callbacks(execute=True):
        stacks.move(stacks=[stack], place=place, by=user, at=NOW)
    stack.refresh_from_db()
    assert stack.place == place
    assert [stay.place for stay in stack.stays.all()][1:] == [place]
    assert stack.events.get().details == {"was": was, "to": place.name}
    assert refreshed == [stack.code]


def test_a_forecast_that_fails_undoes_nothing_and_leaves_no_stale_one(
    user, monkeypatch, django_capture_on_commit_callbacks
):
    def fail(stacks):
        raise RuntimeError("no forecast today")

    monkeypatch.setattr(outlook, "refresh", fail)
    stack, place = OutlookFactory().stack, PlaceFactory()
    with django_capture_on_commit_callbacks(execute=True):
        stacks.move(stacks=[stack], place=place, by=user, at=NOW)
    stack.refresh_from_db()
    assert stack.place == place
    assert not Outlook.objects.exists()


def test_a_stack_brought_into_a_kiln_keeps_its_last_forecast(user):
    stack = OutlookFactory().stack
    stacks.move(stacks=[stack], place=KilnPlaceFactory(), by=user, at=NOW)
    assert Outlook.objects.get().stack == stack


def test_moving_to_where_it_stands_does_nothing(user):
    stack = StackFactory()
    stacks.move(stacks=[stack], place=stack.place, by=user, at=NOW)
    assert (stack.stays.count(), kinds(stack)) == (1, [])


def test_a_kiln_dried_stack_is_no_longer_drying(user):
    stack = StackFactory(place=KilnPlaceFactory())
    stacks.mark_kiln_dried(stacks=[stack], on=NOW.date(), by=user, at=NOW)
    stacks.move(stacks=[stack], place=PlaceFactory(), by=user, at=NOW)
    assert list(Stack.objects.drying()) == []
    assert list(Stack.objects.standing()) == [stack]


def test_a_split_takes_boards_and_keeps_the_past(user):
    stack = StackFactory(lines=[(4000, 150, 40), (3000, 120, 10)])
    ReadingFactory(stack=stack, moisture_pct=24)
    ReadingFactory(stack=stack, moisture_pct=99, voided_at=NOW, void_reason="slipped")
    part = stacks.split(stack=stack, lines=[(4000, 150, 15)], by=user, at=NOW)
    assert stacks.tally(stack) == [(4000, 150, 25), (3000, 120, 10)]
    assert stacks.tally(part) == [(4000, 150, 15)]
    assert [reading.moisture_pct for reading in part.readings.all()] == [24]
    assert [stay.since for stay in part.stays.all()] == [stay.since for stay in stack.stays.all()]
    assert (part.split_from, part.place, part.species) == (stack, stack.place, stack.species)
    assert part.tags.get().code == part.code != stack.code
    assert stack.readings.count() == 2
    assert kinds(stack) == kinds(part) == [Event.Kind.SPLIT]


def test_a_split_part_is_not_set_aside_for_what_the_whole_was(user):
    stack = StackFactory(set_aside_for="a table")
    assert stacks.split(stack=stack, lines=[(4000, 150, 1)], by=user, at=NOW).set_aside_for == ""


@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        ([(4000, 150, 41)], "only 40"),
        ([(2500, 150, 1)], "only 0"),
        ([(4000, 150, 40)], "whole stack"),
        ([(4000, 150, 0)], "how many"),
        ([], "how many"),
    ],
)
def test_a_split_is_refused_and_leaves_the_tally(user, lines, reason):
    stack = StackFactory()
    with pytest.raises(ValidationError, match=reason):
        stacks.split(stack=stack, lines=lines, by=user, at=NOW)
    assert stacks.tally(stack) == [(4000, 150, 40)]
    assert Stack.objects.count() == 1


def test_two_stacks_of_a_kind_become_one(user):
    species = SpeciesFactory()
    stack, into = StackFactory(species=species), StackFactory(species=species, lines=[(4000, 150, 5), (2000, 100, 1)])
    board = BoardFactory(stack=stack)
    stacks.join(stack=stack, into=into, by=user, at=NOW)
    board.refresh_from_db()
    assert stacks.tally(into) == [(4000, 150, 45), (2000, 100, 1)]
    assert board.stack == into
    assert list(Stack.objects.standing()) == [into]
    assert (kinds(stack), kinds(into)) == ([Event.Kind.JOINED], [Event.Kind.JOINED])


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        ({"species__name": "Otherwood"}, "of one species"),
        ({"thickness_mm": 32}, "of one thickness"),
        ({"used_at": NOW}, "no longer"),
        ({"kiln_dried_on": NOW.date()}, "kiln-dried"),
        ({"set_aside_for": "a table"}, "set aside for a table"),
    ],
)
def test_unlike_stacks_stay_apart_and_it_is_said_why(user, other, reason):
    stack = StackFactory()
    same = {} if "species__name" in other else {"species": stack.species}
    into = StackFactory(**same, **other)
    with pytest.raises(ValidationError, match=reason):
        stacks.join(stack=stack, into=into, by=user, at=NOW)
    assert stacks.tally(into) == [(4000, 150, 40)]


def test_a_stack_is_not_joined_to_itself(user):
    stack = StackFactory()
    with pytest.raises(ValidationError, match="same stack"):
        stacks.join(stack=stack, into=Stack.objects.get(pk=stack.pk), by=user, at=NOW)


def test_a_used_stack_leaves_the_lists_and_can_be_put_back(user):
    stack = StackFactory()
    stacks.use(stack=stack, for_what="the barn floor", by=user, at=NOW)
    assert not Stack.objects.standing().exists()
    stacks.put_back(stack=stack, by=user, at=NOW)
    assert list(Stack.objects.standing()) == [stack]
    assert sorted(kinds(stack)) == [Event.Kind.CORRECTED, Event.Kind.USED]


def test_a_stack_is_used_once(user):
    stack = StackFactory()
    twin = Stack.objects.get(pk=stack.pk)
    stacks.use(stack=stack, for_what="the barn floor", by=user, at=NOW)
    with pytest.raises(ValidationError, match="no longer"):
        stacks.use(stack=twin, for_what="firewood", by=user, at=NOW)


def test_stacks_set_aside_are_kept_until_released(user):
    pair = [StackFactory(), StackFactory()]
    stacks.set_aside(stacks=(stack for stack in pair), for_what="charge 4", by=user, at=NOW)
    assert Stack.objects.filter(set_aside_for="charge 4").count() == 2
    stacks.release(stacks=pair, by=user, at=NOW)
    assert not Stack.objects.exclude(set_aside_for="").exists()
    assert kinds(pair[0]) == [Event.Kind.RELEASED, Event.Kind.SET_ASIDE]
    assert pair[0].events.first().details == {"for_what": "charge 4"}
