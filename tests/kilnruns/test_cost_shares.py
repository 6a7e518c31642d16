"""The kiln's part of what a stack has cost: of the run's whole cost by its volume."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from kilnruns.actions.closing import keep_costs
from kilnruns.closing.cost_shares import kiln_per_m3
from tests.factories import StackFactory
from tests.kilnruns.closed import BEGUN, finished
from yard import outlook
from yard.actions.stacks import split
from yard.models import Stack

pytestmark = pytest.mark.django_db


def dried(**more):
    charge = finished(**more)
    Stack.objects.filter(charge_stacks__charge=charge).update(kiln_dried_on=(BEGUN + timedelta(days=10)).date())
    return charge, [item.stack for item in charge.stacks.select_related("stack__species").order_by("pk")]


def test_a_runs_cost_is_shared_by_volume():
    """By hand: 135 of electricity and 50 of kiln (see test_report) over .648 m3."""
    _charge, [stack] = dried()
    assert kiln_per_m3([stack.pk, StackFactory().pk]) == {stack.pk: pytest.approx(185 / 0.648)}
    assert outlook.cost_so_far(stack).kiln == pytest.approx(185)


def test_work_told_later_counts_too():
    charge, [stack] = dried()
    keep_costs(charge=charge, figures={"labour_hours": 5, "hourly_rate": 20, "energy_kwh": None}, by=None)
    assert outlook.cost_so_far(stack).kiln == pytest.approx(285)


def test_a_part_split_off_since_bears_its_share():
    _charge, [stack] = dried()
    part = split(stack=stack, lines=[(4000, 150, 10)], by=None, at=timezone.now())
    part = split(stack=part, lines=[(4000, 150, 4)], by=None, at=timezone.now())
    found = kiln_per_m3([part.pk])
    assert found == {part.pk: pytest.approx(185 / 0.648)}
    assert outlook.cost_so_far(part).kiln == pytest.approx(18.5)


def test_a_part_split_off_before_the_kiln_bears_none():
    stack = StackFactory()
    part = split(stack=stack, lines=[(4000, 150, 10)], by=None, at=timezone.now())
    assert kiln_per_m3([part.pk]) == {}


def test_it_asks_as_often_for_three_runs_as_for_one():
    _charge, stacks = dried()
    with CaptureQueriesContext(connection) as one:
        kiln_per_m3([stack.pk for stack in stacks])
    more = [stack for _number in range(3) for stack in dried(stacks=2)[1]]
    with CaptureQueriesContext(connection) as many:
        assert len(kiln_per_m3([stack.pk for stack in more])) == 6
    assert len(many) == len(one)
