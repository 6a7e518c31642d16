"""What is reserved follows the wood: split, joined, used; and back when that is undone. Figures by hand."""

from datetime import date

import pytest
from django.utils import timezone

from tests.factories import SpeciesFactory, StackFactory, UserFactory, want
from yard import outlook
from yard.actions.needs import reserve
from yard.actions.stacks import join, split, use
from yard.actions.undoing import undo
from yard.models import Change, Need, Reservation

pytestmark = pytest.mark.django_db
NOW = timezone.now()
BOARD = 4 * 0.15 * 0.027  # .0162 m3


@pytest.fixture
def oak():
    return SpeciesFactory()


@pytest.fixture
def by():
    return UserFactory()


def stack_of(oak, boards=40, **more):
    return StackFactory(species=oak, thickness_mm=27, lines=[(4000, 150, boards)], **more)


def wanted(oak, boards, name="Floor"):
    """A line that takes so many boards, counted in m³ of sawn wood."""
    need = want(species=oak, thickness_mm=20, volume_m3=boards * BOARD, name=name, wanted_by=date(2027, 3, 1))
    return need.lines.get()


def keep(line, stack, boards, by):
    return reserve(line=line, stack=stack, volume_m3=boards * BOARD, by=by, at=NOW)


def held():
    """(need, stack, boards) of each reservation."""
    rows = Reservation.objects.select_related("line__need", "stack").order_by("line__need__name", "volume_m3")
    return [(one.line.need.name, one.stack.code, round(one.volume_m3 / BOARD, 3)) for one in rows]


def test_a_split_that_leaves_enough_leaves_it_where_it_was(oak, by):
    stack = stack_of(oak)
    keep(wanted(oak, 10), stack, 10, by)
    split(stack=stack, lines=[(4000, 150, 30)], by=by, at=NOW)
    assert held() == [("Floor", stack.code, 10)]


def test_what_the_rest_can_not_hold_goes_with_the_part_the_last_reserved_first(oak, by):
    stack = stack_of(oak)
    keep(wanted(oak, 15, "First"), stack, 15, by)
    keep(wanted(oak, 20, "Second"), stack, 20, by)
    part = split(stack=stack, lines=[(4000, 150, 12)], by=by, at=NOW)
    assert held() == [("First", stack.code, 15), ("Second", part.code, 7), ("Second", stack.code, 13)]


def test_a_need_has_the_same_after_a_split(oak, by):
    stack, line = stack_of(oak), wanted(oak, 38)
    keep(line, stack, 38, by)
    before = lacking(line)
    split(stack=stack, lines=[(4000, 150, 25)], by=by, at=NOW)
    assert lacking(line) == pytest.approx(before, abs=1e-9) == 0


def lacking(line):
    [need] = Need.objects.with_lines()
    return outlook.serve([need], date(2026, 1, 1))[need.pk][0].lacking_m3


def test_a_join_carries_both_and_adds_those_of_one_line(oak, by):
    one, into = stack_of(oak), stack_of(oak)
    both, other = wanted(oak, 30, "Both"), wanted(oak, 5, "Other")
    keep(both, one, 10, by)
    keep(both, into, 20, by)
    keep(other, one, 5, by)
    join(stack=one, into=into, by=by, at=NOW)
    assert held() == [("Both", into.code, 30), ("Other", into.code, 5)]


def test_a_split_and_a_join_undone_leave_what_was_reserved_as_it_was(oak, by):
    one, into = stack_of(oak), stack_of(oak)
    line = wanted(oak, 60)
    keep(line, one, 38, by)
    keep(line, into, 20, by)
    before = held()
    split(stack=one, lines=[(4000, 150, 12)], by=by, at=NOW)
    assert held() != before
    undo(change=Change.objects.latest("pk"), by=by, at=timezone.now())
    assert held() == before
    one.refresh_from_db()
    join(stack=one, into=into, by=by, at=NOW)
    assert held() == [("Floor", into.code, 58)]
    undo(change=Change.objects.latest("pk"), by=by, at=timezone.now())
    assert held() == before


@pytest.mark.parametrize(
    ("left_as", "boards"), [("own_use", 20), ("sold", 20), ("", 20), ("firewood", 30), ("lost", 30)]
)
def test_what_was_used_of_it_went_to_the_line_unless_it_was_wasted(oak, by, left_as, boards, signed_in):
    stack, line = stack_of(oak, 10), wanted(oak, 30)
    keep(line, stack, 10, by)
    use(stack=stack, for_what="the floor", left_as=left_as, by=by, at=NOW)
    assert lacking(line) == pytest.approx(boards * BOARD)
    page = signed_in.get(f"/needs/{line.need_id}/").content.decode()
    assert ("went to it already" in page) == (boards == 20)
