"""Two people correct one stack: each one's changes stand, what both changed is decided by a person."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from tests.factories import StackFactory, UserFactory
from tests.yard.outbox import send
from tests.yard.test_sort_out import page_of, settle
from yard.actions.stacks import correct, join, split
from yard.models import Receipt

pytestmark = pytest.mark.django_db


@pytest.fixture
def stack():
    return StackFactory(
        cut_on=timezone.localdate() - timedelta(days=60), lines=[(4000, 150, 40), (3000, 120, 5)], value_per_m3=480
    )


@pytest.fixture
def form(signed_in, stack):
    """What the page holds before anyone changes anything, with the version that it shows."""
    context = signed_in.get(f"/stacks/{stack.code}/edit/").context
    bound = [*context["form"], *[field for row in context["tally"].rows for field in row]]
    values = {field.html_name: field.value() for field in bound}
    values["cut_on"] = values["cut_on"].isoformat()
    sent = {name: "" if value is None else str(value) for name, value in values.items()}
    return sent | {"rows": str(context["tally"].row_count), "keep": "1", "seen": context["seen"] or "0"}


def edit(client, stack, form, **changes):
    return send(client, f"/stacks/{stack.code}/edit/", form | changes)


def by_another(stack, lines=None, **changes):
    runa = User.objects.filter(username="Runa").first() or UserFactory(username="Runa")
    correct(stack=stack, changes=changes, lines=lines, by=runa, at=timezone.now())
    stack.refresh_from_db()


def test_what_each_changed_stands(signed_in, stack, form):
    by_another(stack, target_pct=10.0, lines=[(4000, 150, 38)])
    answer = edit(signed_in, stack, form, note="a wet end")
    assert "sort_out" not in answer.json()
    stack.refresh_from_db()
    assert (stack.note, stack.target_pct, stack.board_count) == ("a wet end", 10, 38)


def test_what_both_changed_alike_is_no_conflict(signed_in, stack, form):
    by_another(stack, target_pct=10.0)
    assert "sort_out" not in edit(signed_in, stack, form, target_pct="10").json()


@pytest.mark.parametrize(
    ("theirs", "mine"),
    [
        ({"target_pct": 10.0}, {"target_pct": "9"}),
        ({"note": "dry"}, {"note": "wet"}),
        ({"lines": [(4000, 150, 38), (3000, 120, 5)]}, {"line-0-count": "35"}),
    ],
)
def test_what_both_changed_is_to_be_sorted_out_and_overwrites_nothing(signed_in, stack, form, theirs, mine):
    by_another(stack, **theirs)
    before = (stack.target_pct, stack.note, stack.board_count)
    assert edit(signed_in, stack, form, **mine).json()["sort_out"] is True
    stack.refresh_from_db()
    assert (stack.target_pct, stack.note, stack.board_count) == before
    page = page_of(signed_in, Receipt.objects.get(why="changed").get_absolute_url())
    assert "Someone else changed the same meanwhile." in page
    assert "Runa" in page


def test_said_to_be_right_it_overwrites_what_both_changed_and_nothing_else(signed_in, stack, form, user):
    by_another(stack, target_pct=10.0, note="dry")
    edit(signed_in, stack, form, target_pct="9")
    settle(signed_in, Receipt.objects.get(why="changed"), "as_sent")
    stack.refresh_from_db()
    assert (stack.target_pct, stack.note) == (9, "dry")
    assert stack.events.first().by == user


def test_several_changes_by_others_are_one(signed_in, stack, form):
    """Back to what it was: nothing stands in the way."""
    by_another(stack, target_pct=10.0)
    by_another(stack, target_pct=8.0)
    assert "sort_out" not in edit(signed_in, stack, form, target_pct="9").json()
    stack.refresh_from_db()
    assert stack.target_pct == 9


def test_one_s_own_earlier_change_is_no_conflict(signed_in, stack, form):
    edit(signed_in, stack, form, target_pct="9")
    edit(signed_in, stack, form, target_pct="10")
    stack.refresh_from_db()
    assert stack.target_pct == 10
    assert not Receipt.objects.to_sort_out().exists()


def test_at_a_live_page_both_values_are_shown_and_the_second_keep_stands(signed_in, stack, form):
    by_another(stack, target_pct=10.0)
    mine = form | {"target_pct": "9"}
    refused = signed_in.post(f"/stacks/{stack.code}/edit/", mine)
    assert refused.status_code == 422
    assert "Runa made it 10\u202f% meanwhile." in refused.content.decode()
    assert refused.context["form"]["target_pct"].value() == "9"
    signed_in.post(f"/stacks/{stack.code}/edit/", mine | {"seen": refused.context["seen"]})
    stack.refresh_from_db()
    assert stack.target_pct == 9


def test_a_tally_from_before_a_split_does_not_undo_it(signed_in, stack, form):
    split(stack=stack, lines=[(4000, 150, 10)], by=UserFactory(), at=timezone.now())
    assert edit(signed_in, stack, form, note="a wet end").json()["sort_out"] is True
    assert stack.board_count == 35


def test_the_figures_of_a_joined_stack_do_not_overwrite_those_of_the_one_it_lies_on(signed_in, stack, form):
    into = StackFactory(species=stack.species, place=stack.place, cut_on=stack.cut_on, note="the other")
    join(stack=stack, into=into, by=UserFactory(), at=timezone.now())
    assert edit(signed_in, stack, form, note="a wet end").json()["sort_out"] is True
    assert signed_in.post(f"/stacks/{stack.code}/edit/", form).status_code == 422
    into.refresh_from_db()
    assert (into.note, into.board_count) == ("the other", 85)


def test_boards_are_not_split_off_a_tally_that_changed_meanwhile(signed_in, stack):
    seen = signed_in.get(f"/stacks/{stack.code}/split/").context["seen"] or "0"
    by_another(stack, lines=[(2000, 100, 7), (4000, 150, 40)])
    fields, path = {"take-0": "4", "seen": seen}, f"/stacks/{stack.code}/split/"
    assert send(signed_in, path, fields).json()["sort_out"] is True
    live = signed_in.post(path, fields)
    assert live.status_code == 422
    assert "The tally was changed meanwhile." in live.content.decode()
    assert stack.board_count == 47
    assert settle(signed_in, Receipt.objects.get(why="changed"), "as_sent").status_code == 422
