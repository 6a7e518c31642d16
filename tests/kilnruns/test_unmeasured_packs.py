"""A stack whose pack nobody measured goes into no kiln that is loaded by pack, and the plan says what to do."""

import pytest

from kilnruns.models import Kiln
from kilnruns.planning.lumber import pack_of
from kilnruns.planning.propose import propose
from tests.factories import StackFactory
from tests.kilnruns.factories import KilnFactory, ready_stack, today

pytestmark = pytest.mark.django_db


def why(stack) -> str:
    return {reason.code: reason.why for reason in propose(first_day=today(), seconds=2).reasons}[stack.code]


def test_only_measured_packs_have_a_size():
    assert pack_of(StackFactory(pack_length_mm=3100, pack_width_mm=1150, pack_height_mm=900)) == (3100, 1150, 900)
    assert pack_of(StackFactory(pack_length_mm=3100)) is None


def test_where_every_kiln_is_loaded_by_pack_the_plan_asks_for_its_sizes():
    KilnFactory(loading="pack")
    assert why(ready_stack()) == "no_pack"


def test_where_a_kiln_is_loaded_by_hand_it_asks_for_nothing():
    KilnFactory(loading="pack")
    KilnFactory(loading="hand")
    assert Kiln.objects.count() == 2
    assert why(ready_stack()) != "no_pack"
