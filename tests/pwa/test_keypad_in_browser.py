"""The keypad in a real browser: it writes what a keyboard would, and steps aside for one."""

from typing import Any

import pytest
from django.template.loader import render_to_string

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def pad(phone: Any, live_server: Any) -> Any:
    """The component, in a form with a field of many values and one that may be below zero."""
    page = phone.new_page()
    page.goto(f"{live_server.url}/offline")
    keys = render_to_string("components/keypad.html", {"keep": "Keep"})
    form = f"""<form><label for="a">Values</label><div class="control"><input id="a" data-keypad-input="many"></div>
      <label for="b">Wood</label><div class="control"><input id="b" data-keypad-input="one" data-keypad-signed></div>
      {keys}</form>"""
    page.evaluate("(html) => { document.querySelector('main').innerHTML = html; }", form)
    page.evaluate("import('/static/js/keypad.js')")
    page.get_by_role("group", name="Keypad").wait_for()
    return page


def press(page: Any, *names: str) -> None:
    for name in names:
        page.get_by_role("group", name="Keypad").get_by_role("button", name=name, exact=True).tap()


def values(page: Any) -> str:
    return str(page.get_by_label("Values", exact=True).input_value())


def test_keys_write_values_parted_by_blanks(pad: Any) -> None:
    press(pad, "2", "4", "Decimal sign", "1", "Next value", "2", "2")
    assert values(pad) == "24.1 22"


def test_what_makes_no_number_is_not_written(pad: Any) -> None:
    press(pad, "Next value", "Decimal sign", "Decimal sign", "5")
    assert values(pad) == "0.5"


def test_delete_takes_back_one_key_after_another(pad: Any) -> None:
    press(pad, "2", "4", "Next value", "3", "Delete", "Delete", "Delete")
    assert values(pad) == "2"


def test_a_chip_takes_its_value_out(pad: Any) -> None:
    press(pad, "1", "1", "Next value", "2", "2", "Next value", "3", "3")
    pad.get_by_role("button", name="Remove 22").tap()
    assert values(pad) == "11 33 "
    press(pad, "4")
    assert values(pad) == "11 33 4"


def test_only_a_figure_that_may_be_negative_changes_its_sign(pad: Any) -> None:
    assert pad.get_by_role("button", name="Below zero or above").is_disabled()
    pad.get_by_label("Wood").focus()
    press(pad, "5", "Below zero or above")
    assert pad.get_by_label("Wood").input_value() == "-5"


def test_next_goes_on_to_the_next_input_where_one_value_is_wanted(pad: Any) -> None:
    pad.get_by_label("Wood").focus()
    press(pad, "Next value", "7")
    assert values(pad) == "7"


def test_a_keyboard_types_into_the_same_input(pad: Any) -> None:
    pad.get_by_label("Values", exact=True).press_sequentially("18.5 19")
    press(pad, "1")
    assert values(pad) == "18.5 191"
    assert pad.get_by_role("button", name="Remove 18.5").count() == 1


def test_each_key_is_big_enough_for_a_glove_and_all_lie_above_the_bar(pad: Any) -> None:
    boxes = [button.bounding_box() for button in pad.get_by_role("group", name="Keypad").get_by_role("button").all()]
    assert len(boxes) == 14
    assert all(box["width"] >= 48 and box["height"] >= 48 for box in boxes)
    assert max(box["x"] + box["width"] for box in boxes) <= 360
