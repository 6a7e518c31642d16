"""Loading: each tag read, typed or tapped checks its stack in; what is wrong is told at the field."""

import pytest

from tests.factories import TagFactory
from tests.kilnruns.factories import KilnFactory, charge_of, days_from_today, ready_stack
from yard.actions.tags import replace

pytestmark = pytest.mark.django_db


def words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def check_in(browser, charge, code, **kwargs):
    return browser.post(f"/charges/{charge.pk}/loading/", {"code": code}, **kwargs)


def test_a_tag_checks_its_stack_in_and_the_page_counts(signed_in, user):
    stack = ready_stack()
    charge = charge_of(stack, ready_stack())
    text = words(check_in(signed_in, charge, stack.code, follow=True))
    assert "1 of 2 in" in text
    assert charge.stacks.get(stack=stack).loaded_by == user


def test_every_stack_that_is_not_in_has_its_own_button(signed_in):
    stacks = [ready_stack(), ready_stack()]
    charge = charge_of(*stacks)
    check_in(signed_in, charge, stacks[0].code)
    text = words(signed_in.get(f"/charges/{charge.pk}/loading/"))
    assert f'name="code" value="{stacks[1].code}"><button class="act">' in text
    assert f'name="code" value="{stacks[0].code}"><button class="act quiet">Take back' in text


def test_a_code_is_read_in_groups_and_lower_case(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    code = stack.code.lower()
    check_in(signed_in, charge, f"{code[:3]} {code[3:6]}-{code[6:]}")
    assert charge.stacks.get().loaded_at


def test_the_tag_that_took_anothers_place_is_read_and_so_is_the_old_one(signed_in, user):
    stack = ready_stack()
    charge, old = charge_of(stack), stack.code
    replace(stack=stack, by=user, at="2026-01-01T10:00Z")
    check_in(signed_in, charge, old)
    assert charge.stacks.get().loaded_at


@pytest.mark.parametrize(
    ("typed", "hint"),
    [("", "required"), ("ABC", "10 characters; these are 3"), ("ABCDEFGHJ0", "“0”")],
)
def test_what_is_no_code_is_refused_with_a_hint_and_stays_as_typed(signed_in, typed, hint):
    charge = charge_of()
    response = check_in(signed_in, charge, typed)
    assert response.status_code == 422
    assert hint in words(response)
    assert response.context["form"]["code"].value() == typed


def test_two_swapped_neighbours_are_found_out(signed_in):
    stack = ready_stack()
    code = stack.code
    place = next(n for n in range(len(code) - 1) if code[n] != code[n + 1])
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    response = check_in(signed_in, charge_of(stack), swapped)
    assert response.status_code == 422
    assert "swapped" in words(response)


def test_a_blank_tag_bears_no_stack(signed_in):
    assert "No stack bears this tag" in words(check_in(signed_in, charge_of(), TagFactory().code))


def test_a_stack_of_no_charge_is_left_out(signed_in):
    response = check_in(signed_in, charge_of(), ready_stack().code)
    assert response.status_code == 422
    assert "is not in this charge. Leave it out." in words(response)


def test_a_stack_that_is_in_is_not_checked_in_twice(signed_in):
    stack = ready_stack()
    charge = charge_of(stack, ready_stack())
    check_in(signed_in, charge, stack.code)
    assert "is in already" in words(check_in(signed_in, charge, stack.code, follow=True))


def test_a_kiln_with_an_older_charge_in_it_says_which_to_unload(signed_in):
    kiln, stack = KilnFactory(), ready_stack()
    first = charge_of(kiln=kiln)
    check_in(signed_in, first, first.stacks.get().stack.code)
    response = check_in(signed_in, charge_of(stack, kiln=kiln, start_on=days_from_today(20)), stack.code)
    assert "Unload it first" in words(response)


def test_a_stack_is_taken_back(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    check_in(signed_in, charge, stack.code)
    text = words(signed_in.post(f"/charges/{charge.pk}/loading/back/", {"code": stack.code}, follow=True))
    assert "is out again" in text
    assert "0 of 1 in" in text


def test_what_is_not_in_is_not_taken_back_and_says_why(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    response = signed_in.post(f"/charges/{charge.pk}/loading/back/", {"code": stack.code}, follow=True)
    assert "can be taken back" in words(response)


def test_a_bad_code_takes_nothing_back(signed_in):
    charge = charge_of()
    assert signed_in.post(f"/charges/{charge.pk}/loading/back/", {"code": "ABC"}).status_code == 422


def test_nothing_is_started_before_a_stack_is_in(signed_in):
    assert "Close the door" not in words(signed_in.get(f"/charges/{charge_of().pk}/loading/"))


def test_what_is_left_out_is_told_before_the_door_is_closed(signed_in):
    one, left = ready_stack(), ready_stack()
    charge = charge_of(one, left)
    text = words(check_in(signed_in, charge, one.code, follow=True))
    said = text[text.index("1 stack is not in") : text.index("Close the door and start")]
    assert left.code in said.replace(" ", "")


def test_a_running_charge_is_not_loaded(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    check_in(signed_in, charge, stack.code)
    signed_in.post(f"/charges/{charge.pk}/start/")
    assert "This charge is running" in words(signed_in.get(f"/charges/{charge.pk}/loading/"))


def test_a_scanned_stacks_page_offers_to_check_it_in_while_its_charge_is_in_hand(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    assert "Check this stack in" not in words(signed_in.get(f"/stacks/{stack.code}/"))
    signed_in.get(f"/charges/{charge.pk}/loading/")
    text = words(signed_in.get(f"/stacks/{stack.code}/"))
    assert "Check this stack in" in text
    assert f'action="/charges/{charge.pk}/loading/"' in text


def test_it_offers_no_more_once_the_kiln_is_started(signed_in):
    stack = ready_stack()
    charge = charge_of(stack)
    check_in(signed_in, charge, stack.code)
    signed_in.post(f"/charges/{charge.pk}/start/")
    assert "Check this stack in" not in words(signed_in.get(f"/stacks/{stack.code}/"))
