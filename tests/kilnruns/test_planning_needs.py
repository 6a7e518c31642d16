"""Needs in the planner: what is reserved, what matters more, and when a charge lets its stacks out."""

import pytest
from django.utils import timezone

from kilnruns.planning.case import case
from tests.factories import SpeciesFactory, want
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack, today
from yard import outlook
from yard.actions.needs import reserve
from yard.models import Need

pytestmark = pytest.mark.django_db


def test_a_reserved_stack_serves_its_need_alone_and_important_ones_cost_more_when_late():
    KilnFactory()
    wood = SpeciesFactory()
    one, other = ready_stack(species=wood), ready_stack(species=wood)
    common = {"species": wood, "thickness_mm": one.thickness_mm - 4, "volume_m3": 0.01, "target_pct": 8}
    want(name="First", wanted_by=days_from_today(30), **common)
    second = want(name="Second", wanted_by=days_from_today(60), importance=3, **common)
    line = second.lines.get()
    reserve(line=line, stack=one, volume_m3=one.volume_m3, by=None, at=timezone.now())
    due = case(today(), 56).due
    assert (due[one.code].need.name, due[other.code].need.name) == ("Second", "First")
    assert due[one.code].late_per_week == 3 * due[other.code].late_per_week


def test_the_needs_hear_when_a_charge_is_out():
    stack = ready_stack()
    charge_of(stack, start_on=days_from_today(3), days=20, days_high=30)
    need = want(species=stack.species, thickness_mm=15, volume_m3=0.1, target_pct=8, wanted_by=days_from_today(60))
    ((served,),) = outlook.serve(Need.objects.with_lines(), today()).values()
    (server,) = served.drying
    assert need == served.line.need
    assert server.by_kiln
    assert server.days == (days_from_today(23), days_from_today(33))
    assert server.chance(days_from_today(33)) == pytest.approx(0.9, abs=0.02)
