"""What a role is shown it may follow and send: in a small yard; `manage.py bench roles` walks the demo."""

from datetime import date

import pytest

from kilnruns.models import Charge
from tests.config.test_roles import client_of
from tests.config.walking import Walk
from tests.factories import BoardFactory, ReadingFactory, TagFactory
from tests.kilnruns.factories import ChargeFactory, ready_stack
from yard.models import Need, NeedLine, Role, Stack

pytestmark = pytest.mark.django_db


@pytest.fixture
def small_yard():
    stack = ready_stack(value_per_m3=600)
    BoardFactory(stack=stack)
    ReadingFactory(stack=stack)
    TagFactory()
    ChargeFactory()
    need = Need.objects.create(name="Floor", wanted_by=date(2027, 3, 1))
    NeedLine.objects.create(need=need, thickness_mm=20, quantity=1)


@pytest.mark.parametrize("role", [Role.GUEST, Role.HAND])
def test_nothing_that_is_shown_is_refused(small_yard, role):
    walk = Walk(client_of(role), ["/", "/setup/", "/yard/", "/kilns/", "/needs/", "/scan/", "/tags/"])
    walk.go()
    assert walk.refused == set()
    assert len(walk.looked) > 30
    assert ("reading_new" in walk.sent) == (role == Role.HAND)
    assert not walk.sent & {"charge_call_off", "charge_start", "plans", "person_invite", "need_promise", "place"}
    assert walk.money == set(), "money is for owners and operators"


def test_an_operator_is_shown_what_a_hand_is_not(small_yard):
    """So that the walk of the others can't pass because nothing is there."""
    stack, charge = Stack.objects.latest("pk"), Charge.objects.get()
    walk = Walk(client_of(Role.OPERATOR), [f"/charges/{charge.pk}/", "/places/", "/stock/", f"/stacks/{stack.code}/"])
    for address in list(walk.waiting):
        walk.look(address)
    assert "charge_call_off" in walk.sent
    assert f"/charges/{charge.pk}/" in walk.money
