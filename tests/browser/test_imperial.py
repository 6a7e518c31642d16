"""Inches on a phone of 360 px: a narrow field shows its whole value, and the keypad has what fractions take."""

from typing import Any

from playwright.sync_api import Page, expect

from tests.factories import StackFactory, TagFactory
from tests.kilnruns.closed import finished, item_of
from yard.models import Person

CUT_OFF = """() => [...document.querySelectorAll(".control > input[type=text]")]
  .filter((one) => one.checkVisibility() && one.scrollWidth > one.clientWidth).map((one) => one.name)"""


def test_a_thickness_in_inches_is_seen_whole(signed_in: Page, owner: Any) -> None:
    Person.objects.update_or_create(user=owner, defaults={"units": "imperial"})
    StackFactory(thickness_mm=32)
    signed_in.goto(f"/stacks/new/?tag={TagFactory().code}")
    thickness = signed_in.locator("[name=thickness_mm]")
    for shown in ("1.260", "1 63/64"):
        thickness.fill(shown)
        assert signed_in.evaluate(CUT_OFF) == []


def test_the_keypad_types_a_fraction_and_leaves_the_field_in_sight(signed_in: Page, owner: Any) -> None:
    Person.objects.update_or_create(user=owner, defaults={"units": "imperial"})
    charge = finished(values=(7.6, 8.0))
    item = item_of(charge)
    signed_in.goto(f"/charges/{charge.pk}/closing/{item.stack.code}/")
    keys, values = signed_in.get_by_role("group", name="Keypad"), signed_in.locator("[name=values]")
    expect(keys).to_be_visible()
    assert keys.bounding_box()["y"] > values.bounding_box()["y"] + 24, "half of the field is above the keys"  # type: ignore[index]
    signed_in.locator("details", has=signed_in.locator("[name=dried_mm]")).locator("summary").click()
    length = signed_in.locator("[name=dried_mm]")
    length.focus()
    for key in ("1", "Dash, before a fraction", "1", "Fraction bar", "4"):
        keys.get_by_role("button", name=key, exact=True).click()
    expect(length).to_have_value("1-1/4")
