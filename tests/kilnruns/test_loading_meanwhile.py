"""Two phones load and unload one charge without reception: what one told, the other needs not mend."""

from datetime import timedelta

import pytest
from django.utils import timezone

from kilnruns.actions.charges import load
from kilnruns.actions.starting import start
from tests.factories import PlaceFactory, UserFactory
from tests.kilnruns.factories import charge_of, ready_stack
from tests.yard.outbox import send
from yard.models import Stay

pytestmark = pytest.mark.django_db


def said(answer):
    assert answer.status_code == 200, answer.content
    return " ".join(answer.json()["said"]).replace("\u202f", "")


def test_a_stack_that_another_phone_checked_in_is_in_already(signed_in):
    stack = ready_stack()
    charge = charge_of(stack, ready_stack())
    load(charge=charge, stack=stack, by=UserFactory(), at=timezone.now())
    told = said(send(signed_in, f"/charges/{charge.pk}/loading/", {"code": stack.code}))
    assert told == f"{stack.code} is in already."
    assert Stay.objects.filter(stack=stack, place=charge.kiln.place).count() == 1


def test_so_it_is_after_the_kiln_was_started(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    load(charge=charge, stack=stack, by=UserFactory(), at=timezone.now())
    start(charge=charge, by=None, at=timezone.now())
    assert "is in already" in said(send(signed_in, f"/charges/{charge.pk}/loading/", {"code": stack.code}))


def test_a_stack_that_another_phone_checked_out_is_out_already(signed_in):
    stack, store, loft = ready_stack(), PlaceFactory(name="Store"), PlaceFactory(name="Loft")
    charge = charge_of(stack)
    load(charge=charge, stack=stack, by=None, at=timezone.now())
    start(charge=charge, by=None, at=timezone.now())
    path = f"/charges/{charge.pk}/unloading/"
    send(signed_in, path, {"code": stack.code, "place": store.pk})
    told = said(send(signed_in, path, {"code": stack.code, "place": loft.pk}))
    assert told == f"{stack.code} is out already and stands in Store."


def test_told_after_the_kiln_was_started_without_it_says_what_to_look_at(signed_in):
    stack, other = ready_stack(), ready_stack()
    charge, now = charge_of(stack, other), timezone.now()
    load(charge=charge, stack=other, by=None, at=now)
    start(charge=charge, by=None, at=now)
    headers = {"X-Drystack-Taken-At": (now - timedelta(hours=2)).isoformat(), "X-Drystack-Sent-At": now.isoformat()}
    answer = send(signed_in, f"/charges/{charge.pk}/loading/", {"code": stack.code}, **headers)
    assert answer.status_code == 422
    assert "The kiln was started without" in answer.json()["errors"][""][0]


def test_today_says_how_much_is_to_be_sorted_out(signed_in):
    PlaceFactory()
    assert "to sort out" not in signed_in.get("/").content.decode()
    for number in range(2):
        send(signed_in, f"/stacks/22222222X{number}/note/", {"note": "a crack"})
    page = signed_in.get("/").content.decode()
    assert "2 things to sort out" in page
    assert 'href="/sort-out/"' in page


def test_a_stack_that_cannot_be_taken_back_is_refused_with_the_reason(signed_in):
    charge = charge_of(ready_stack())
    stack = charge.stacks.get().stack
    answer = send(signed_in, f"/charges/{charge.pk}/loading/back/", {"code": stack.code})
    assert answer.status_code == 422
    assert "can be taken back" in answer.json()["errors"]["code"][0]
