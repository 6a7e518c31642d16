"""Who settles what is to be sorted out: who may send such a form. A sender who no longer may lends no right."""

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone

from kilnruns.actions.charges import load
from kilnruns.models import Charge
from tests.factories import StackFactory, UserFactory
from tests.kilnruns.factories import charge_of, ready_stack
from tests.yard.outbox import send
from tests.yard.test_sort_out import ago, page_of, read, settle
from yard.actions.people import set_admitted, set_role
from yard.actions.roles import OWNER, RANKS
from yard.actions.stacks import use
from yard.models import Change, Event, Reading, Receipt, Role

pytestmark = pytest.mark.django_db
PASSWORDS = "django.contrib.auth.backends.ModelBackend"


def person(role, name=""):
    user = UserFactory(**({"username": name} if name else {}))
    set_role(person=user, role=role, by=None)
    client = Client()
    client.force_login(user, backend=PASSWORDS)
    return user, client


@pytest.fixture
def used():
    stack = StackFactory(cut_on=timezone.localdate() - timedelta(days=60))
    use(stack=stack, for_what="the barn doors", by=None, at=timezone.now())
    return stack


@pytest.fixture
def read_by_runa(used):
    """A yard hand's reading of a stack that was used up, still to be sorted out, and the stack that it was of."""
    runa, phone = person(Role.HAND, "Runa")
    read(phone, used.code, **ago(hours=3))
    return runa, Receipt.objects.get(), StackFactory(cut_on=used.cut_on)


def lose(user, how):
    if how == "shut out":
        set_admitted(person=user, admitted=False, by=None)
    else:
        set_role(person=user, role=how, by=None)


@pytest.mark.parametrize("lost", [Role.GUEST, "shut out"])
def test_what_was_recorded_with_the_right_is_taken_in_the_name_of_who_settles_it(read_by_runa, lost):
    runa, receipt, right = read_by_runa
    lose(runa, lost)
    mate, client = person(Role.HAND, "Bo")
    assert "Runa may no longer do this" in page_of(client, receipt.get_absolute_url())
    assert settle(client, receipt, "belongs", code=right.code)["Location"] == f"/stacks/{right.code}/"
    reading = Reading.objects.get()
    assert (reading.stack, reading.made_by) == (right, mate)
    assert abs(reading.taken_at - receipt.taken_at) < timedelta(seconds=1)
    assert Change.objects.get(kind="read").by == mate
    assert not Event.objects.filter(by=runa).exists()
    assert "in the name of Bo: Runa may no longer do this" in page_of(client)


def test_who_became_a_guest_is_told_in_the_list(read_by_runa):
    runa, receipt, right = read_by_runa
    lose(runa, Role.GUEST)
    settle(person(Role.HAND, "Bo")[1], receipt, "belongs", code=right.code)
    phone = Client()
    phone.force_login(runa, backend=PASSWORDS)
    assert "in the name of Bo: Runa may no longer do this" in page_of(phone)


@pytest.mark.parametrize("role", RANKS)
def test_each_role_settles_a_hands_reading_but_a_guest(read_by_runa, role):
    runa, receipt, right = read_by_runa
    answer = settle(person(role)[1], receipt, "belongs", code=right.code)
    receipt.refresh_from_db()
    if role == Role.GUEST:
        assert (answer.status_code, receipt.state) == (403, "to_sort_out")
    else:
        assert (receipt.state, Reading.objects.get().made_by) == ("settled", runa)


@pytest.fixture
def start_to_sort_out():
    """An operator's start of a charge that was never loaded."""
    user, phone = person(Role.OPERATOR, "Runa")
    charge = charge_of(ready_stack())
    send(phone, f"/charges/{charge.pk}/start/", {"inside": "2222222222"})
    return user, Receipt.objects.get()


@pytest.mark.parametrize("role", RANKS)
def test_an_operators_decision_is_settled_by_operators_and_owners_alone(start_to_sort_out, role):
    _user, receipt = start_to_sort_out
    _person, client = person(role)
    answer = settle(client, receipt, "drop", reason="never loaded")
    receipt.refresh_from_db()
    may = role in (Role.OPERATOR, OWNER)
    assert (receipt.state == "settled") == may
    assert answer.status_code == (302 if may else 403 if role == Role.GUEST else 422)
    if role == Role.HAND:
        page = page_of(client, receipt.get_absolute_url())
        assert "This is decided by a kiln operator or an owner." in page
        assert 'name="how"' not in page


@pytest.mark.parametrize("lost", [None, Role.HAND, "shut out"])
@pytest.mark.parametrize("settles", [Role.HAND, Role.OPERATOR])
def test_a_hand_gets_no_start_done_with_an_operators_right(start_to_sort_out, lost, settles):
    user, receipt = start_to_sort_out
    charge = Charge.objects.get()
    load(charge=charge, stack=charge.stacks.get().stack, by=None, at=receipt.taken_at)
    if lost:
        lose(user, lost)
    mate, client = person(settles)
    settle(client, receipt, "as_sent")
    started = Change.objects.filter(kind="started").first()
    assert (Charge.objects.get().started_at is not None) == (started is not None) == (settles == Role.OPERATOR)
    if started:
        assert started.by == (mate if lost else user)
