"""Meter pins left in the wood instead of sample boards: kept with the charge, asked for by name, read first."""

import pytest

from kilnruns.models import ChargeStack, RunRecord
from kilnruns.reminding.due import dues
from kilnruns.reminding.wording import told as worded
from kilnruns.templatetags.run_words import next_verb, next_when
from tests.kilnruns.factories import charge_of, ready_stack
from tests.kilnruns.test_run_page import NOW, ago, note, run_of, told
from yard.models import Method, Reading

pytestmark = pytest.mark.django_db


def page_words(response):
    return " ".join(response.content.decode().replace("\u202f", " ").split())


def left(charge, places=3):
    charge.stacks.update(pins_left=places)
    return charge


def test_said_on_its_page_and_kept(signed_in):
    charge = charge_of(ready_stack())
    item = charge.stacks.get()
    page = f"/charges/{charge.pk}/pins/"
    assert page in page_words(signed_in.get(f"/charges/{charge.pk}/"))
    assert signed_in.post(page, {f"places_{item.pk}": "3"}).status_code == 302
    assert ChargeStack.objects.get().pins_left == 3
    assert "pins at 3 places" in page_words(signed_in.get(f"/charges/{charge.pk}/"))
    signed_in.post(page, {f"places_{item.pk}": ""})
    assert ChargeStack.objects.get().pins_left == 0


@pytest.mark.parametrize("places", ["13", "-1", "two"])
def test_a_number_of_places_that_is_none_is_told_at_its_field_and_kept_as_typed(signed_in, places):
    charge = charge_of(ready_stack())
    item = charge.stacks.get()
    answer = signed_in.post(f"/charges/{charge.pk}/pins/", {f"places_{item.pk}": places})
    assert answer.status_code == 422
    assert f'value="{places}"' in answer.content.decode()
    assert f"places_{item.pk}" in answer.context["form"].errors
    assert ChargeStack.objects.get().pins_left == 0


def test_a_charge_that_is_done_takes_none(signed_in):
    charge = charge_of(ready_stack(), started_at=ago(9), unloaded_at=ago(1))
    item = charge.stacks.get()
    answer = signed_in.post(f"/charges/{charge.pk}/pins/", {f"places_{item.pk}": "3"})
    assert (answer.status_code, ChargeStack.objects.get().pins_left) == (422, 0)


def test_the_next_thing_asks_for_the_pins_and_not_for_the_scales():
    charge = left(run_of(days=1))
    assert next_verb(told(charge)[0]) == "Read the pins in the wood now"


def test_once_read_they_are_due_again(signed_in):
    charge = left(run_of(days=3))
    stack = charge.stacks.get().stack
    answer = signed_in.post(
        f"/charges/{charge.pk}/records/new/", {"dry_bulb_c": "50", "wet_bulb_c": "44", f"pins_{stack.pk}": "24 25 26"}
    )
    assert answer.status_code == 302
    reading = Reading.objects.get(stack=stack, method=Method.PINS)
    assert (reading.wood_temperature_c, RunRecord.objects.get().readings.get()) == (50, reading)
    due = told(charge)[0].setting
    note(charge, 0.01, phase="drying", step=due.step)
    one = told(charge)[0]
    assert (one.by, one.code) == ("pins", "wait")
    assert next_when(one).startswith("Read the pins again")


def test_boards_in_one_stack_and_pins_in_another_are_both_asked_for():
    charge = run_of([[(3, 40), (2.5, 38)]], days=4)
    note(charge, 2.5, phase="drying", step=1)
    charge.stacks.create(stack=ready_stack(), volume_m3=1, loaded_at=charge.started_at, pins_left=2)
    one = told(charge)[0]
    assert one.by == "both"
    assert (one.code, next_verb(one)) == ("weigh", "Weigh the samples and read the pins now")


def test_the_visit_asks_for_them_first(signed_in):
    charge = left(run_of([[(1, 30)]], days=3))
    other = ready_stack()
    charge.stacks.create(stack=other, volume_m3=1, loaded_at=charge.started_at)
    page = page_words(signed_in.get(f"/charges/{charge.pk}/records/new/"))
    first, rest = page.split("Air and settings", 1)
    assert "Pins stay in it at 3 places." in first
    assert f'name="pins_{other.pk}"' in rest


def test_the_reminder_says_pins():
    charge = left(run_of(days=3))
    [one] = [one for one in dues(NOW.date()) if one.kind == "weigh" and one.facts["charge"].pk == charge.pk]
    assert "Read the pins in the wood" in worded([one])[0].title
