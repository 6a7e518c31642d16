"""Unloading: each tag checks its stack out, dry, to a place; the last one ends the charge."""

import pytest
from django.utils import timezone

from kilnruns.actions import charges as actions
from kilnruns.actions.starting import start
from tests.factories import PlaceFactory
from tests.kilnruns.factories import charge_of, ready_stack

pytestmark = pytest.mark.django_db


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def running(*stacks):
    charge = charge_of(*stacks)
    for item in charge.stacks.all():
        actions.load(charge=charge, stack=item.stack, by=None, at=timezone.now())
    start(charge=charge, by=None, at=timezone.now())
    return charge


def check_out(browser, charge, code, place, **kwargs):
    return browser.post(f"/charges/{charge.pk}/unloading/", {"code": code, "place": place}, **kwargs)


def test_a_tag_and_a_place_check_a_stack_out(signed_in):
    stack, store = ready_stack(), PlaceFactory(name="Dry store")
    charge = running(stack, ready_stack())
    text = words(check_out(signed_in, charge, stack.code, store.pk, follow=True))
    stack.refresh_from_db()
    assert (stack.place, stack.kiln_dried_on) == (store, timezone.localdate())
    assert "is out and stands in Dry store" in text
    assert "1 of 2 out" in text


def test_the_last_one_out_ends_the_charge(signed_in):
    stack, store = ready_stack(), PlaceFactory()
    charge = running(stack)
    assert "All is out" in words(check_out(signed_in, charge, stack.code, store.pk, follow=True))
    charge.refresh_from_db()
    assert charge.state == "done"


def test_the_place_of_the_one_before_is_offered_again(signed_in):
    stack, store = ready_stack(), PlaceFactory()
    PlaceFactory()
    charge = running(stack, ready_stack())
    check_out(signed_in, charge, stack.code, store.pk)
    assert signed_in.get(f"/charges/{charge.pk}/unloading/").context["form"]["place"].value() == store.pk


def test_at_first_a_closed_store_is_offered(signed_in):
    PlaceFactory(name="A shed")
    store = PlaceFactory(name="Store", kind="closed_store")
    assert signed_in.get(f"/charges/{running().pk}/unloading/").context["form"]["place"].value() == store.pk


def test_a_tapped_buttons_code_counts_before_the_empty_field(signed_in):
    stack, store = ready_stack(), PlaceFactory()
    charge = running(stack)
    check_out(signed_in, charge, ["", stack.code], store.pk)
    assert charge.stacks.get().unloaded_at


def test_the_button_that_the_enter_key_presses_bears_no_stacks_code(signed_in):
    PlaceFactory()
    text = words(signed_in.get(f"/charges/{running().pk}/unloading/"))
    form = text[text.index('action="/charges/') :]
    assert form.index('<button class="act second">Check out') < form.index('<button class="act" name="code"')


def test_the_code_of_a_scanned_stack_is_filled_in(signed_in):
    stack = ready_stack()
    PlaceFactory()
    response = signed_in.get(f"/charges/{running(stack).pk}/unloading/?code={stack.code}")
    assert response.context["form"]["code"].value() == stack.code


@pytest.mark.parametrize("place", ["", "0"])
def test_without_a_place_nothing_comes_out_and_the_code_stays(signed_in, place):
    stack = ready_stack()
    charge = running(stack)
    response = check_out(signed_in, charge, stack.code, place)
    assert response.status_code == 422
    assert response.context["form"].errors["place"]
    assert response.context["form"]["code"].value() == stack.code
    assert charge.stacks.get().unloaded_at is None


def test_a_kiln_is_no_place_to_unload_to(signed_in):
    stack = ready_stack()
    charge = running(stack)
    assert check_out(signed_in, charge, stack.code, charge.kiln.place.pk).status_code == 422


def test_a_stack_that_never_went_in_is_refused(signed_in):
    response = check_out(signed_in, running(), ready_stack().code, PlaceFactory().pk)
    assert response.status_code == 422
    assert "did not go into this charge" in words(response)


def test_a_stack_is_checked_out_once(signed_in):
    stack, store = ready_stack(), PlaceFactory()
    charge = running(stack, ready_stack())
    check_out(signed_in, charge, stack.code, store.pk)
    assert "is out already" in words(check_out(signed_in, charge, stack.code, store.pk, follow=True))


def test_a_charge_that_was_never_started_is_not_unloaded(signed_in):
    assert "has not been started" in words(signed_in.get(f"/charges/{charge_of().pk}/unloading/"))


def test_cautions_stand_before_the_first_stack_is_out(signed_in):
    PlaceFactory()
    assert "Let the kiln cool" in words(signed_in.get(f"/charges/{running().pk}/unloading/"))


def test_a_scanned_stacks_page_offers_to_check_it_out(signed_in):
    stack = ready_stack()
    charge = running(stack)
    signed_in.get(f"/charges/{charge.pk}/unloading/")
    assert f"/charges/{charge.pk}/unloading/?code={stack.code}" in words(signed_in.get(f"/stacks/{stack.code}/"))
